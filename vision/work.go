package vision

import (
	"image"
	"math"
)

// maxWorkPx bounds the reduced copy on which pieces are found.
const maxWorkPx = 3.2e6

// workPxPerMM is the resolution that finding pieces needs; outlines are refined on the full photo.
const workPxPerMM = 8.0

// labImage is a picture in CIE L*a*b*, 8 bits a channel as OpenCV packs it, row by row.
type labImage struct {
	w, h int
	pix  []uint8
}

// lPlus16 maps a stored L* to L*+16. A change of illumination by the factor s scales the vector
// (L*+16, a*, b*) by the cube root of s (CIE 15, away from black), so shades of one surface lie on
// a ray through the origin of these coordinates.
var lPlus16 = func() (t [256]float32) {
	for i := range t {
		t[i] = float32(i)*100/255 + 16
	}
	return
}()

// at returns (L*+16, a*, b*) of pixel i.
func (m *labImage) at(i int) [3]float32 {
	p := m.pix[3*i : 3*i+3 : 3*i+3]
	return [3]float32{lPlus16[p[0]], float32(p[1]) - 128, float32(p[2]) - 128}
}

// workFactor is the reduction from the photo to the work image, 0 < f <= 1.
func workFactor(w, h int, mmPerPx float64) float64 {
	f := math.Min(1, workPxPerMM*mmPerPx)
	f = math.Min(f, math.Sqrt(maxWorkPx/float64(w*h)))
	// A whole number of pixels averages several times as fast.
	if k := math.Ceil(1 / f); k > 1 && k*f < 1+nearWhole {
		f = 1 / k
	}
	return math.Max(f, 0.05)
}

// nearWhole is how much smaller, relative, the work image may be made to reduce the photo by a whole number.
const nearWhole = 0.06

// work is the reduced copy and how it relates to the photo.
type work struct {
	lab    labImage
	bgr    labImage // same layout, 8-bit BGR
	sx, sy float64  // photo px per work px
	sigma  float64  // of the smoothing that a grainy photo got, work px; 0: none
}

func newWork(p *Photo, factor float64) work {
	size := image.Pt(max(1, int(math.Round(float64(p.Width())*factor))), max(1, int(math.Round(float64(p.Height())*factor))))
	wk := work{
		bgr: resized(p.pixels(), p.Width(), p.Height(), size),
		lab: labImage{size.X, size.Y, make([]uint8, 3*size.X*size.Y)},
		sx:  float64(p.Width()) / float64(size.X),
		sy:  float64(p.Height()) / float64(size.Y),
	}
	wk.bgr.toLab(&wk.lab)
	wk.calm()
	return wk
}

// shrink averages m over k × k blocks.
func (m *labImage) shrink(k int) labImage {
	w, h := max(1, m.w/k), max(1, m.h/k)
	out := labImage{w, h, make([]uint8, 3*w*h)}
	for y := range h {
		for x := range w {
			m.blockMean(x*k, y*k, k, out.pix[3*(y*w+x):])
		}
	}
	return out
}

func (m *labImage) blockMean(x0, y0, k int, dst []uint8) {
	var s0, s1, s2, n uint32
	for y := y0; y < min(y0+k, m.h); y++ {
		row := m.pix[3*(y*m.w+x0) : 3*(y*m.w+min(x0+k, m.w))]
		for i := 0; i+2 < len(row); i += 3 {
			s0 += uint32(row[i])
			s1 += uint32(row[i+1])
			s2 += uint32(row[i+2])
			n++
		}
	}
	dst[0], dst[1], dst[2] = uint8((s0+n/2)/n), uint8((s1+n/2)/n), uint8((s2+n/2)/n)
}
