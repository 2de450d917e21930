package intake

import (
	"bytes"
	"encoding/binary"
	"image"

	"golang.org/x/image/webp"
)

func sizeWebP(data []byte) (int, int, error) {
	if err := wholeWebP(data); err != nil {
		return 0, 0, err // the header parser reads an animation as damage
	}
	c, err := webp.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return 0, 0, damaged(WebP, err)
	}
	return c.Width, c.Height, nil
}

// wholeWebP looks at the container alone: its length, and the animation bit of its VP8X chunk.
func wholeWebP(data []byte) error {
	const animationBit = 1 << 1
	if len(data) > 20 && string(data[12:16]) == "VP8X" && data[20]&animationBit != 0 {
		return animated("WebP")
	}
	if len(data) < 20 || uint64(binary.LittleEndian.Uint32(data[4:]))+8 > uint64(len(data)) {
		return Truncated(WebP)
	}
	return nil
}

func decodeWebP(data []byte) (image.Image, error) {
	img, err := webp.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, damaged(WebP, err)
	}
	return img, nil
}
