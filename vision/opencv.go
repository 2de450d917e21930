package vision

/*
#cgo CXXFLAGS: --std=c++14 -O2
#cgo pkg-config: opencv4
#include "opencv.h"
*/
import "C"

import (
	"image"
	"math"
	"slices"
	"unsafe"
)

// What follows lets OpenCV read and write our own memory, where the bindings would copy at each step.

func bytesOf(pix []uint8) *C.uchar { return (*C.uchar)(unsafe.Pointer(&pix[0])) }
func boolsOf(mask []bool) *C.uchar { return (*C.uchar)(unsafe.Pointer(&mask[0])) } // one byte each, 0 or 1

// must stops at a failure of OpenCV, which no photo can bring about: sizes are ours and fit.
func must(rc C.int) int {
	if rc < 0 {
		panic("vision: OpenCV failed")
	}
	return int(rc)
}

// resized is the picture of w × h px in another size.
func resized(pix []uint8, w, h int, size image.Point) labImage {
	out := labImage{size.X, size.Y, make([]uint8, 3*size.X*size.Y)}
	must(C.gv_resize(bytesOf(pix), C.int(w), C.int(h), bytesOf(out.pix), C.int(size.X), C.int(size.Y)))
	return out
}

// resizedPart is a part of the picture scaled to size and padded, by repeating its right and lower border, to full.
func (m *labImage) resizedPart(box image.Rectangle, size, full image.Point) labImage {
	out := labImage{full.X, full.Y, make([]uint8, 3*full.X*full.Y)}
	must(C.gv_resize_part(bytesOf(m.pix), C.int(m.w), C.int(m.h), C.int(box.Min.X), C.int(box.Min.Y), C.int(box.Dx()), C.int(box.Dy()),
		bytesOf(out.pix), C.int(size.X), C.int(size.Y), C.int(full.X), C.int(full.Y)))
	return out
}

// redrawn is a square of BGR and cover of which the pixel at x, y comes to m[0] x + m[1] y + m[2], m[3] x + m[4] y + m[5].
func redrawn(bgrc []uint8, side int, m [6]float64) []uint8 {
	out := make([]uint8, len(bgrc))
	must(C.gv_turn(bytesOf(bgrc), C.int(side), (*C.double)(unsafe.Pointer(&m[0])), bytesOf(out)))
	return out
}

// smooth blurs the picture in place.
func (m *labImage) smooth(sigma float64) {
	must(C.gv_smooth(bytesOf(m.pix), C.int(m.w), C.int(m.h), C.double(sigma)))
}

// distanceTo is each cell's distance to the nearest cell whose mask equals target.
func distanceTo(mask []bool, w, h int, target bool) []float32 {
	out := make([]float32, len(mask))
	if !slices.Contains(mask, target) {
		for i := range out {
			out[i] = math.MaxFloat32
		}
		return out
	}
	ones := C.int(0)
	if target {
		ones = 1
	}
	must(C.gv_distance(boolsOf(mask), C.int(w), C.int(h), ones, (*C.float)(unsafe.Pointer(&out[0]))))
	return out
}
