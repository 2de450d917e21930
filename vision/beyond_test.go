package vision

import (
	"image/color"
	"math"
	"testing"

	"gristmark/internal/result"
)

// On a given field, blue within a white rim, pieces that reach over its line are followed onto the rim and count whole if their middle is on the
// field; one that reaches farther than is looked at is cut, and one that lies on the rim does not count. Drawn edges are sharp: areas to 3 %, as
// where the network tells ground from piece its own pixels of a third of a millimetre come first.
func TestBeyondTheLine(t *testing.T) {
	const pxPerMM = 10.0
	field := []result.XY{{203, 152}, {1001, 171}, {994, 746}, {196, 727}} // photo px
	on := covered(1200, 900, 1, [][]result.XY{field})
	img := painted(1200, 900, on, color.NRGBA{240, 240, 238, 255}, navy)
	pieces := [][]result.XY{
		turned(ellipse(11, 8), 0.4, result.XY{50, 45}), // far from the line
		turned(ellipse(11, 8), 1.2, result.XY{22, 30}), // over the left side by 2 mm
		turned(ellipse(11, 8), 0, result.XY{70, 19.5}), // over the upper one by some
		turned(ellipse(9, 7), 0, result.XY{80, 72.5}),  // over the lower one by some
		turned(rectangle(24, 4), 0, result.XY{97, 50}), // over the right one by 9 mm
		turned(ellipse(11, 8), 0, result.XY{12, 55}),   // on the rim
	}
	for i, c := range covered(1200, 900, pxPerMM, pieces) {
		if x, y := i%1200, i/1200; c > 0 {
			img.SetNRGBA(x, y, mixed(img.NRGBAAt(x, y), yellow, c))
		}
	}
	opt := DefaultOptions()
	opt.Field = field
	a := analysed(t, img, level(1/pxPerMM), opt)
	if len(a.Particles) != 5 {
		t.Fatalf("%d pieces found of 5, notes %v", len(a.Particles), a.Notes)
	}
	for i, o := range pieces[:5] {
		p, ok := nearest(a, o)
		switch {
		case !ok:
			t.Errorf("piece %d is not found", i)
		case p.CutByEdge != (i == 4):
			t.Errorf("piece %d: cut %v", i, p.CutByEdge)
		case i < 4:
			l, w := 11.0, 8.0
			if i == 3 {
				l, w = 9, 7
			}
			within(t, "area", p.AreaMM2, math.Pi/4*l*w, 0.03*math.Pi/4*l*w)
		}
	}
}

// mixed is a colour over another that it covers by a share.
func mixed(under, over color.NRGBA, share float64) color.NRGBA {
	img := painted(1, 1, []float64{share}, under, over)
	return img.NRGBAAt(0, 0)
}

// nearest is the particle whose middle lies within 4 mm of that of an outline, mm.
func nearest(a *Analysis, o []result.XY) (best result.Particle, ok bool) {
	var at result.XY
	for _, p := range o {
		at[0], at[1] = at[0]+p[0]/float64(len(o)), at[1]+p[1]/float64(len(o))
	}
	for _, p := range a.Particles {
		if dist(p.AtPx, result.XY{10 * at[0], 10 * at[1]}) < 80 {
			return p, true
		}
	}
	return best, false
}
