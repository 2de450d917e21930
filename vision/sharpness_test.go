package vision

import (
	"image/color"
	"math"
	"testing"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// defocused spreads the cover over discs of radius r px, as a lens out of focus does.
func defocused(cover []float64, w, h, r int) []float64 {
	out := make([]float64, len(cover))
	n := 0.0
	for dy := -r; dy <= r; dy++ {
		for dx := -r; dx <= r; dx++ {
			if dx*dx+dy*dy > r*r {
				continue
			}
			n++
			for y := max(0, -dy); y < min(h, h-dy); y++ {
				for x := max(0, -dx); x < min(w, w-dx); x++ {
					out[y*w+x] += cover[(y+dy)*w+x+dx]
				}
			}
		}
	}
	for i := range out {
		out[i] /= n
	}
	return out
}

// Out of focus a piece keeps its size: half the light lies where its edge is, if both sides are read far enough from it.
// 1 % of the area is 0.08 px all round, which the last look keeps up to 2 px of blur (before it, 1.2 %); beyond, where it is not followed, 4 % is
// 0.3 px. Read from 2.2 px at any blur it was 5 % at 2 px of blur and 11 % at 3.
func TestSizesOutOfFocus(t *testing.T) {
	const pxPerMM, w, h = 8.0, 900, 700
	var outlines [][]result.XY
	for k := range 6 {
		outlines = append(outlines, turned(ellipse(10, 6), 0.5*float64(k), result.XY{25 + 30*float64(k%3), 25 + 35*float64(k/3)}))
	}
	area := math.Abs(shape.Area(outlines[0]))
	sharp := covered(w, h, pxPerMM, outlines)
	for r, off := range []float64{0.01, 0.01, 0.01, 0.04} {
		img := painted(w, h, defocused(sharp, w, h, r), navy, yellow)
		a := analysed(t, img, level(1/pxPerMM), DefaultOptions())
		if len(a.Particles) != len(outlines) {
			t.Fatalf("blur of %d px: %d pieces", r, len(a.Particles))
		}
		for _, p := range a.Particles {
			if seen := math.Abs(shape.Area(p.OutlinePx)) / (pxPerMM * pxPerMM); math.Abs(seen/area-1) > off {
				t.Errorf("blur of %d px: %.2f mm², drawn %.2f", r, seen, area)
			}
		}
	}
}

// The reach follows the narrowest quarter of the edges, within the limits of the search.
func TestSecondReach(t *testing.T) {
	for _, c := range []struct {
		widths []float64
		want   reach
	}{
		{nil, reach{nearIn, nearOut}},
		{[]float64{1, 1, 9, 9}, reach{nearIn, nearOut}},
		{[]float64{5, 2.5, 2.5, 5}, reach{nearIn + 1.5, nearOut + 1.5}},
		{[]float64{90, 90, 90, 90}, reach{edgeReach, edgeReach}},
	} {
		if got := secondReach(c.widths); got != c.want {
			t.Errorf("%v: %v, not %v", c.widths, got, c.want)
		}
	}
}

// Blots in which kernels and straws can hardly be told apart are refused, whether or not the ruler could still be read; a photo that is out of focus by a
// pixel or two is not.
func TestBlotsAreRefused(t *testing.T) {
	const pxPerMM, w, h = 8.0, 900, 700
	var outlines [][]result.XY
	for k := range 12 {
		outlines = append(outlines, turned(ellipse(9.5, 6.5), 0.5*float64(k), result.XY{14 + 28*float64(k%4), 16 + 28*float64(k/4)}))
	}
	sharp := covered(w, h, pxPerMM, outlines)
	for r, refused := range map[int]bool{0: false, 2: false, 4: false, 14: true} {
		a := analysed(t, painted(w, h, defocused(sharp, w, h, r), navy, yellow), level(1/pxPerMM), DefaultOptions())
		c := checkNamed(t, a, "sharpness")
		if (a.Problem != "") != refused || c.OK == refused || refused && a.Problem != c.Advice {
			t.Errorf("discs of %d px: %+v, %q", r, c, a.Problem)
		}
	}
}

// Pieces that are burnt out have outlines but no looks to be named by.
func TestBurntOutIsRefused(t *testing.T) {
	for paint, refused := range map[color.NRGBA]bool{{255, 255, 252, 255}: true, {255, 253, 190, 255}: true, {244, 214, 120, 255}: false} {
		img, _ := strewn(color.NRGBA{128, 130, 140, 255}, paint, paint, 0, 2)
		a := analysed(t, img, level(1./8), DefaultOptions())
		c := checkNamed(t, a, "glare")
		if (a.Problem != "") != refused || c.OK == refused || refused && a.Problem != c.Advice {
			t.Errorf("%v: %+v, %q", paint, c, a.Problem)
		}
	}
}
