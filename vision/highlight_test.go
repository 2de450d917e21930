package vision

import (
	"math"
	"testing"
)

// A tray of L* 30 with a wide highlight of L* 80 in which a pale piece lies, and beside it a lid as pale with a sharp edge: the highlight is bare tray,
// piece and lid are not. A highlight no wider than a piece is left as it is.
func TestHighlightIsBareTray(t *testing.T) {
	const w, h = 120, 80
	for _, c := range []struct {
		name  string
		sigma float64 // of the highlight, cells
		bare  bool
	}{{"wide", 12, true}, {"narrow", 3, false}} {
		f := field{cells: labImage{w, h, make([]uint8, 3*w*h)}, mask: make([]bool, w*h), bare: make([]bool, w*h), noise: 0.5}
		piece := func(x, y int) bool { return x >= 30 && x < 34 && y >= 38 && y < 44 }
		lid := func(x, y int) bool { return math.Hypot(float64(x)-98, float64(y)-40) < 18 }
		for i := range f.mask {
			x, y := i%w, i/w
			l := 30 + 50*math.Exp(-(math.Pow(float64(x)-36, 2)+math.Pow(float64(y)-40, 2))/(2*c.sigma*c.sigma))
			if lid(x, y) {
				l = 80
			}
			if piece(x, y) {
				l = 97
			}
			f.cells.pix[3*i], f.cells.pix[3*i+1], f.cells.pix[3*i+2] = uint8(l*2.55), 128, 128
			f.mask[i], f.bare[i] = true, l < 35
		}
		f.back = surface{w: w, h: h}
		f.back.coef[0][0] = 30 + 16
		f.addHighlights(0.5)
		for _, at := range []struct {
			what string
			x, y int
			bare bool
		}{{"tray", 70, 10, true}, {"highlight", 40, 40, c.bare}, {"piece", 32, 41, false}, {"lid", 98, 40, false}, {"rim of the lid", 98 - 17, 40, false}} {
			if got := f.bare[at.y*w+at.x]; got != at.bare {
				t.Errorf("%s highlight: %s is bare tray: %v, want %v", c.name, at.what, got, at.bare)
			}
		}
	}
}
