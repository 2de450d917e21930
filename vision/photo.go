package vision

import (
	"bytes"
	"errors"
	"fmt"
	"image"

	"gocv.io/x/gocv"

	_ "gristmark/vision/lean" // the program starts without what is not used of OpenCV
)

// ErrNotDecoded says that the bytes are no picture that can be decoded.
var ErrNotDecoded = errors.New("vision: the picture cannot be decoded: take it again or export it as JPEG")

// Photo is a decoded photo, upright, 8-bit BGR. Close it.
type Photo struct{ mat gocv.Mat }

// Decode decodes a JPEG or PNG file and turns it upright.
// orientation is the EXIF orientation, 1..8; 0 means 1.
func Decode(data []byte, orientation int) (*Photo, error) {
	decode := decodeJPEG
	if bytes.HasPrefix(data, []byte("\x89PNG")) {
		decode = decodePNG
	}
	if len(data) == 0 {
		return nil, ErrNotDecoded
	}
	mat, err := decode(data)
	if err != nil {
		return nil, err
	}
	return upright(mat, orientation), nil
}

// FromImage takes a picture that was decoded elsewhere.
func FromImage(img image.Image, orientation int) (*Photo, error) {
	if img == nil || img.Bounds().Empty() {
		return nil, ErrNotDecoded
	}
	mat, err := gocv.ImageToMatRGB(img)
	if err != nil {
		return nil, fmt.Errorf("%w (%v)", ErrNotDecoded, err)
	}
	return upright(mat, orientation), nil
}

// Mat is the photo's pixels; it belongs to the photo.
func (p *Photo) Mat() gocv.Mat { return p.mat }

// pixels are the photo's, BGR row by row, in place.
func (p *Photo) pixels() []uint8 {
	pix, err := p.mat.DataPtrUint8()
	if err != nil {
		return p.mat.ToBytes()
	}
	return pix
}

// Width in px.
func (p *Photo) Width() int { return p.mat.Cols() }

// Height in px.
func (p *Photo) Height() int { return p.mat.Rows() }

// Close frees the pixels.
func (p *Photo) Close() error { return p.mat.Close() }

// Image is a copy of the photo for drawing.
func (p *Photo) Image() (image.Image, error) { return p.mat.ToImage() }

// upright applies the EXIF orientation once; it takes over mat.
func upright(mat gocv.Mat, orientation int) *Photo {
	switch orientation {
	case 2, 4, 5, 7: // mirrored: undo the mirror first, then turn
		gocv.Flip(mat, &mat, 1)
	}
	switch orientation {
	case 3, 4:
		gocv.Rotate(mat, &mat, gocv.Rotate180Clockwise)
	case 6, 7:
		gocv.Rotate(mat, &mat, gocv.Rotate90Clockwise)
	case 5, 8:
		gocv.Rotate(mat, &mat, gocv.Rotate90CounterClockwise)
	}
	return &Photo{mat: mat}
}
