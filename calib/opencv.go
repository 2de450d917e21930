package calib

/*
#cgo CXXFLAGS: --std=c++14 -O2
#cgo pkg-config: opencv4
#include "opencv.h"
*/
import "C"

import (
	"errors"
	"unsafe"

	"gristmark/calib/card"
	"gristmark/internal/result"
)

// errOpenCV is a failure inside OpenCV, which data should not be able to bring about.
var errOpenCV = errors.New("calib: OpenCV failed while looking for markers")

// SetNumThreads sets the number of threads that OpenCV uses in the whole program; 0 or 1 keeps it
// on the caller's own.
func SetNumThreads(n int) { C.gm_set_threads(C.int(n)) }

// grey is a grey picture without gaps between its rows.
type grey struct {
	pix           []uint8
	width, height int
}

// shrink makes a grey copy of the photo at most maxPixels large (same size if it is smaller).
// sx and sy are photo px per px of the copy.
func (p picture) shrink(maxPixels float64) (small grey, sx, sy float64, err error) {
	return p.shrinkRows(maxPixels, false)
}

// shrinkFast is shrink from two rows of each four or more of the photo alone.
func (p picture) shrinkFast(maxPixels float64) (small grey, sx, sy float64, err error) {
	return p.shrinkRows(maxPixels, true)
}

func (p picture) shrinkRows(maxPixels float64, half bool) (small grey, sx, sy float64, err error) {
	small.width, small.height = p.width, p.height
	for n := 2; float64(small.width)*float64(small.height) > maxPixels; n++ {
		// Whole factors: OpenCV averages those several times faster.
		small.width, small.height = p.width/n, p.height/n
	}
	small.pix = make([]uint8, small.width*small.height)
	w, h := p.width/small.width*small.width, p.height/small.height*small.height
	two := C.int(0)
	if half {
		two = 1
	}
	rc := C.gm_shrink_grey((*C.uchar)(unsafe.Pointer(&p.pix[0])), C.int(w), C.int(h), C.int(p.step),
		(*C.uchar)(unsafe.Pointer(&small.pix[0])), C.int(small.width), C.int(small.height), two)
	if rc < 0 {
		return small, 0, 0, errOpenCV
	}
	return small, float64(w) / float64(small.width), float64(h) / float64(small.height), nil
}

// found is a marker that the detector read; corners clockwise from the marker's top left, px.
type found struct {
	id      int
	corners [4]result.XY
}

// windows are the adaptive threshold's window sizes in px: from, to, step.
type windows [3]int

// markers reads the markers in the picture. Corners are px of the picture, pixel centres at +0.5.
func (g grey) markers(win windows, minPerimeterRate float64) ([]found, error) {
	const most = 2 * card.DictionarySize
	ids := make([]C.int, most)
	xy := make([]C.float, 8*most)
	n := C.gm_find_markers((*C.uchar)(unsafe.Pointer(&g.pix[0])), C.int(g.width), C.int(g.height),
		C.int(win[0]), C.int(win[1]), C.int(win[2]), C.double(minPerimeterRate), &ids[0], &xy[0], C.int(most))
	if n < 0 {
		return nil, errOpenCV
	}
	out := make([]found, n)
	for i := range out {
		out[i].id = int(ids[i])
		for k := range 4 {
			out[i].corners[k] = result.XY{float64(xy[8*i+2*k]) + 0.5, float64(xy[8*i+2*k+1]) + 0.5}
		}
	}
	return out, nil
}

// edgeSegments finds the straight pieces of the picture's edges, px of the picture.
func (g grey) edgeSegments() ([]segment, error) {
	edges := grey{make([]uint8, len(g.pix)), g.width, g.height}
	rc := C.gm_find_edges((*C.uchar)(unsafe.Pointer(&g.pix[0])), C.int(g.width), C.int(g.height), (*C.uchar)(unsafe.Pointer(&edges.pix[0])))
	if rc < 0 {
		return nil, errOpenCV
	}
	return edges.chains(), nil
}

// fineSegments finds straight pieces of edges among clutter, px of the picture.
func (g grey) fineSegments() ([]segment, error) {
	xy := make([]C.float, 4*mostSegments)
	n := C.gm_find_segments((*C.uchar)(unsafe.Pointer(&g.pix[0])), C.int(g.width), C.int(g.height), &xy[0], mostSegments)
	if n < 0 {
		return nil, errOpenCV
	}
	out := make([]segment, n)
	at := func(i int) result.XY { return result.XY{float64(xy[i]) + 0.5, float64(xy[i+1]) + 0.5} }
	for i := range out {
		out[i] = segment{at(4 * i), at(4*i + 2)}
	}
	return out, nil
}
