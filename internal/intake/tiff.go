package intake

import (
	"bytes"
	"errors"
	"image"
	"io"
	"strings"

	"golang.org/x/image/tiff"
)

func sizeTIFF(data []byte) (int, int, error) {
	c, err := tiff.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return 0, 0, problemTIFF(err)
	}
	return c.Width, c.Height, nil
}

// wholeTIFF has nothing to add: the strips may lie anywhere, so that only decoding finds a gap.
func wholeTIFF([]byte) error { return nil }

func decodeTIFF(data []byte) (image.Image, error) {
	img, err := tiff.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, problemTIFF(err)
	}
	return img, nil
}

func problemTIFF(err error) Problem {
	var unsupported tiff.UnsupportedError
	switch {
	case errors.As(err, &unsupported):
		return problemf("this kind of TIFF is not read (%s); save the photo as a JPEG", string(unsupported))
	case errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, io.EOF), strings.Contains(err.Error(), "not enough pixel data"):
		return Truncated(TIFF)
	}
	return damaged(TIFF, err)
}
