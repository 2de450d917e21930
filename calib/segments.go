package calib

/*
#include "opencv.h"
*/
import "C"

import (
	"math"
	"slices"
	"unsafe"

	"gristmark/internal/result"
)

// segment is a straight piece of an edge, px of the photo.
type segment struct{ a, b result.XY }

func (s segment) length() float64   { return dist(s.a, s.b) }
func (s segment) dir() result.XY    { return unit(sub(s.b, s.a)) }
func (s segment) middle() result.XY { return add(s.a, sub(s.b, s.a), 0.5) }

// mostSegments bounds what a cluttered photo yields.
const mostSegments = 20000

// segments finds straight edges in a reduced copy, the longest first, in px of the photo: fine ones among
// clutter by the line segment detector of von Gioi et al. 2010, else by chains of Canny's edges (Lee et
// al. 2014), several times as fast; both as OpenCV has them.
func (p picture) segments(maxPixels float64, fine bool) ([]segment, error) {
	every := 1
	if !fine && float64(p.width)*float64(p.height) > 12*maxPixels {
		every = 2 // lines are several px wide in such a photo
	}
	small, sx, sy, err := p.shrinkRows(maxPixels, every)
	if err != nil {
		return nil, err
	}
	xy := make([]C.float, 4*mostSegments)
	var flag C.int
	if fine {
		flag = 1
	}
	n := C.gm_find_segments((*C.uchar)(unsafe.Pointer(&small.pix[0])), C.int(small.width), C.int(small.height), flag, &xy[0], mostSegments)
	if n < 0 {
		return nil, errOpenCV
	}
	out := make([]segment, n)
	at := func(i int) result.XY {
		return result.XY{(float64(xy[i]) + 0.5) * sx, (float64(xy[i+1]) + 0.5) * sy}
	}
	for i := range out {
		out[i] = segment{at(4 * i), at(4*i + 2)}
	}
	slices.SortFunc(out, func(a, b segment) int {
		switch d := b.length() - a.length(); {
		case d > 0:
			return 1
		case d < 0:
			return -1
		}
		return 0
	})
	return out, nil
}

// line is a straight line in the photo: all x with n·x = c, n of unit length.
type line struct {
	n result.XY
	c float64
}

func lineThrough(a, b result.XY) line {
	d := unit(sub(b, a))
	n := result.XY{-d[1], d[0]}
	return line{n, dot(n, a)}
}

func (l line) distance(p result.XY) float64 { return dot(l.n, p) - l.c }
func (l line) dir() result.XY               { return result.XY{l.n[1], -l.n[0]} }

// meet is where two lines cross; ok is false for nearly parallel ones.
func meet(a, b line) (result.XY, bool) {
	d := cross(a.n, b.n)
	if math.Abs(d) < 1e-9 {
		return result.XY{}, false
	}
	return result.XY{(a.c*b.n[1] - b.c*a.n[1]) / d, (a.n[0]*b.c - b.n[0]*a.c) / d}, true
}
