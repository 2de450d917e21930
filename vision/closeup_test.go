package vision

import (
	"math"
	"testing"

	"gristmark/internal/result"
)

// disc is a circle's outline.
func disc(at result.XY, r float64) []result.XY {
	out := make([]result.XY, 240)
	for i := range out {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(len(out)))
		out[i] = result.XY{at[0] + r*c, at[1] + r*s}
	}
	return out
}

// grounds is a picture whose red tells the column and whose green tells the row.
func grounds(w, h int) *labImage {
	m := &labImage{w, h, make([]uint8, 3*w*h)}
	for i := range w * h {
		m.pix[3*i+1], m.pix[3*i+2] = uint8(i/w), uint8(i%w)
	}
	return m
}

// A close-up holds the piece: its cover adds up to the piece's area (within the sixteenths in which the rim is told), its colours are those of the
// photo there, and near the photo's edge it is moved inside.
func TestCloseUpHoldsThePiece(t *testing.T) {
	photo := grounds(250, 200)
	for _, at := range []result.XY{{120, 100}, {20, 22}, {229, 181}} {
		const r, mmPerPx = 18.0, 0.25
		c := closeUpOf(photo, disc(at, r), mmPerPx)
		if want := 2 * r * mmPerPx * closeUpRoom; math.Abs(c.SideMM-want) > mmPerPx {
			t.Errorf("at %v: sides of %.2f mm, want %.2f", at, c.SideMM, want)
		}
		var cover, red, green float64
		for i := range closeUpPx * closeUpPx {
			p := c.Pix[4*i : 4*i+4]
			f := float64(p[3]) / 255
			cover, red, green = cover+f, red+f*float64(p[2]), green+f*float64(p[1])
		}
		area := cover * math.Pow(c.SideMM/mmPerPx/closeUpPx, 2)
		if want := math.Pi * r * r; math.Abs(area/want-1) > 0.01 {
			t.Errorf("at %v: %.0f px² covered, want %.0f", at, area, want)
		}
		if x, y := red/cover+0.5, green/cover+0.5; math.Hypot(x-at[0], y-at[1]) > 0.8 { // a pixel of the close-up is one of the photo, and colours are whole numbers
			t.Errorf("what is covered lies about %.1f, %.1f, not %v", x, y, at)
		}
	}
}

// Specks are seen with something of their surroundings, long pieces in part, and a photo smaller than that as a whole.
func TestCloseUpLimits(t *testing.T) {
	photo := grounds(250, 200)
	for _, c := range []struct{ r, mmPerPx, want float64 }{
		{3, 0.2, leastCloseMM}, {60, 0.2, mostCloseMM}, {60, 0.01, leastCloseMM * 200 * 0.01 / leastCloseMM},
	} {
		got := closeUpOf(photo, disc(result.XY{125, 100}, c.r), c.mmPerPx).SideMM
		if math.Abs(got-c.want) > c.mmPerPx {
			t.Errorf("radius %g px at %g mm a px: sides of %.2f mm, want %.2f", c.r, c.mmPerPx, got, c.want)
		}
	}
}

// What is said of a close-up does not depend on those that are shown along with it.
func TestCloseUpsStandAlone(t *testing.T) {
	photo := grounds(250, 200)
	var all []view
	for i := range 2*closeUpBatch + 3 {
		c := closeUpOf(photo, disc(result.XY{60 + 7*float64(i), 100}, 10+float64(i)), 0.2)
		all = append(all, view{CloseUp: &c, by: float64(i)})
	}
	together, err := lookClose(all)
	if err != nil || len(together) != len(all) {
		t.Fatalf("%d said of %d, %v", len(together), len(all), err)
	}
	for i := range all {
		alone, err := lookClose(all[i : i+1])
		if err != nil {
			t.Fatal(err)
		}
		for k, v := range alone[0] {
			if math.Abs(v-together[i][k]) > 1e-4 {
				t.Errorf("close-up %d: %v alone, %v among others", i, alone[0], together[i])
			}
		}
	}
	if said, err := lookClose(nil); err != nil || said != nil {
		t.Errorf("nothing to look at: %v, %v", said, err)
	}
}

// What is said of the crop's three classes is their log probabilities, none less than -surestClose; the word on foreign matter does not count.
func TestCloseUpFeatures(t *testing.T) {
	for _, c := range []struct{ said, want []float64 }{
		{[]float64{1, 1, 1, 50, 0.7, 5}, []float64{-math.Log(3), -math.Log(3), -math.Log(3), 0.7}},
		{[]float64{20, 0, -3, -50, -1, -5}, []float64{0, -surestClose, -surestClose, -1}},
		{[]float64{math.Log(3), math.Log(1), -30, 0, 0, 0}, []float64{math.Log(0.75), math.Log(0.25), -surestClose, 0}},
	} {
		got := CloseUpFeatures(c.said)
		for k, want := range c.want {
			if math.Abs(got[k]-want) > 1e-6 {
				t.Errorf("of %v: %v, want %v", c.said, got, c.want)
			}
		}
	}
}

// An outline is moved by what is said in pixels of the close-up, 48 to a side, by at most mostOutPx.
func TestOutMM(t *testing.T) {
	for _, c := range []struct{ px, sideMM, want float64 }{{0, 10, 0}, {0.1, 12, 0.025}, {-0.15, 9.6, -0.03}, {3, 6, mostOutPx / 8}, {-3, 6, -mostOutPx / 8}} {
		if got := (&closeLook{9, 9, 9, 9, 9, c.px}).outMM(c.sideMM); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%g px of %g mm: %g mm, want %g", c.px, c.sideMM, got, c.want)
		}
	}
}

// A height is said as its logarithm, and bounded.
func TestHeightMM(t *testing.T) {
	for said, want := range map[float64]float64{0: 1, math.Log(3.5): 3.5, -9: leastTall, 9: mostTall} {
		if got := (&closeLook{9, 9, 9, 9, said, 9}).heightMM(); math.Abs(got-want) > 1e-9 {
			t.Errorf("exp %g: %g mm, want %g", said, got, want)
		}
	}
}

// above is a level plane under a camera.
type above struct {
	level
	foot     result.XY
	heightMM float64
}

func (a above) Foot() (result.XY, float64, float64, bool) { return a.foot, a.heightMM, 0, true }

// The lean is the way from the point below the camera in heights of the camera; none there, and none where the plane does not know it.
func TestLeanAt(t *testing.T) {
	p := above{level(0.1), result.XY{50, 40}, 300}
	for _, c := range []struct{ px, want result.XY }{{result.XY{500, 400}, result.XY{}}, {result.XY{1400, 400}, result.XY{0.3, 0}}, {result.XY{500, 100}, result.XY{0, -0.1}}} {
		if got := leanAt(p, c.px); dist(got, c.want) > 1e-9 {
			t.Errorf("at %v: %v, want %v", c.px, got, c.want)
		}
	}
	if got := leanAt(p.level, result.XY{900, 900}); got != (result.XY{}) {
		t.Errorf("without a camera: %v", got)
	}
}

// The names add the close-up's log probabilities from where the features hold them.
func TestCloseUpsPlaceAmongFeatures(t *testing.T) {
	for k, want := range []string{"close-up whole", "close-up broken", "close-up stover"} {
		if got := featureNames[CloseUpAt+k]; k >= CloseUpOdds || got != want {
			t.Errorf("feature %d is %q, want %q", CloseUpAt+k, got, want)
		}
	}
}
