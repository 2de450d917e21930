package vision

/*
#cgo CFLAGS: -O2
#cgo LDFLAGS: -ljpeg
#include "jpeg.h"
*/
import "C"

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"unsafe"

	"gocv.io/x/gocv"
)

// decodeJPEG decodes with libjpeg, as OpenCV does, but without OpenCV's module of picture files, whose many libraries take
// longer to load than a photo to decode.
func decodeJPEG(data []byte) (gocv.Mat, error) {
	from, n := (*C.uchar)(unsafe.Pointer(&data[0])), C.size_t(len(data))
	var w, h C.int
	if C.gv_jpeg_size(from, n, &w, &h) != 0 || w < 1 || h < 1 {
		return gocv.Mat{}, ErrNotDecoded
	}
	mat := gocv.NewMatWithSize(int(h), int(w), gocv.MatTypeCV8UC3)
	pix, err := mat.DataPtrUint8()
	if err != nil || C.gv_jpeg_decode(from, n, (*C.uchar)(unsafe.Pointer(&pix[0])), w, h) != 0 {
		mat.Close()
		return gocv.Mat{}, ErrNotDecoded
	}
	return mat, nil
}

// decodePNG decodes a PNG file; transparency is left out, and of 16 bits the upper 8 are kept.
func decodePNG(data []byte) (gocv.Mat, error) {
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		return gocv.Mat{}, ErrNotDecoded
	}
	b := img.Bounds()
	mat := gocv.NewMatWithSize(b.Dy(), b.Dx(), gocv.MatTypeCV8UC3)
	pix, err := mat.DataPtrUint8()
	if err != nil {
		mat.Close()
		return gocv.Mat{}, ErrNotDecoded
	}
	colour := colourAt(img)
	i := 0
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			pix[i+2], pix[i+1], pix[i] = colour(x, y)
			i += 3
		}
	}
	return mat, nil
}

// colourAt reads a picture's colours as they are stored, transparent or not.
func colourAt(img image.Image) func(x, y int) (r, g, b uint8) {
	switch m := img.(type) {
	case *image.RGBA: // opaque, as PNG has it
		return func(x, y int) (r, g, b uint8) { p := m.Pix[m.PixOffset(x, y):]; return p[0], p[1], p[2] }
	case *image.NRGBA:
		return func(x, y int) (r, g, b uint8) { p := m.Pix[m.PixOffset(x, y):]; return p[0], p[1], p[2] }
	case *image.NRGBA64:
		return func(x, y int) (r, g, b uint8) { p := m.Pix[m.PixOffset(x, y):]; return p[0], p[2], p[4] }
	}
	return func(x, y int) (r, g, b uint8) {
		c := img.At(x, y)
		if n, ok := c.(color.NRGBA); ok { // of a palette
			return n.R, n.G, n.B
		}
		r32, g32, b32, _ := c.RGBA()
		return uint8(r32 >> 8), uint8(g32 >> 8), uint8(b32 >> 8)
	}
}
