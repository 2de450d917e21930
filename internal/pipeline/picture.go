package pipeline

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"

	"golang.org/x/image/draw"

	"gristmark/vision"
)

// reducedPicture is the photo as JPEG, at most PictureSidePx on its longer side.
func reducedPicture(photo *vision.Photo) ([]byte, error) {
	img, err := photo.Image()
	if err != nil {
		return nil, fmt.Errorf("pipeline: no copy for the overlay: %w", err)
	}
	if side := max(photo.Width(), photo.Height()); side > PictureSidePx {
		f := float64(PictureSidePx) / float64(side)
		size := image.Rect(0, 0, int(float64(photo.Width())*f+0.5), int(float64(photo.Height())*f+0.5))
		small := image.NewRGBA(size)
		draw.BiLinear.Scale(small, size, img, img.Bounds(), draw.Src, nil)
		img = small
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 92}); err != nil {
		return nil, fmt.Errorf("pipeline: no copy for the overlay: %w", err)
	}
	return b.Bytes(), nil
}
