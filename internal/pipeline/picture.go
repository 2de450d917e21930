package pipeline

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"

	"golang.org/x/image/draw"

	"gristmark/vision"
)

// reducedPicture is the photo as JPEG, at most PictureSidePx on its longer side.
func reducedPicture(photo *vision.Photo) ([]byte, error) {
	full, err := pictureOf(photo)
	if err != nil {
		return nil, err
	}
	f := min(1, float64(PictureSidePx)/float64(max(full.w, full.h)))
	small := image.NewRGBA(image.Rect(0, 0, int(float64(full.w)*f+0.5), int(float64(full.h)*f+0.5)))
	draw.ApproxBiLinear.Scale(small, small.Rect, full, full.Bounds(), draw.Src, nil)
	var b bytes.Buffer
	if err := jpeg.Encode(&b, small, &jpeg.Options{Quality: 92}); err != nil {
		return nil, fmt.Errorf("pipeline: no copy for the overlay: %w", err)
	}
	return b.Bytes(), nil
}

func pictureOf(photo *vision.Photo) (bgr, error) {
	mat := photo.Mat()
	pix, err := mat.DataPtrUint8()
	if err != nil {
		return bgr{}, fmt.Errorf("pipeline: the photo's pixels cannot be read: %w", err)
	}
	return bgr{pix, photo.Width(), photo.Height()}, nil
}

// bgr looks at OpenCV's pixels without copying them.
type bgr struct {
	pix  []byte // blue, green, red
	w, h int
}

func (b bgr) ColorModel() color.Model { return color.RGBAModel }
func (b bgr) Bounds() image.Rectangle { return image.Rect(0, 0, b.w, b.h) }
func (b bgr) At(x, y int) color.Color { return b.RGBA64At(x, y) }

// RGBA64At spares the scaler an allocation for each pixel.
func (b bgr) RGBA64At(x, y int) color.RGBA64 {
	p := b.pix[3*(y*b.w+x):]
	return color.RGBA64{R: uint16(p[2]) * 0x101, G: uint16(p[1]) * 0x101, B: uint16(p[0]) * 0x101, A: 0xffff}
}
