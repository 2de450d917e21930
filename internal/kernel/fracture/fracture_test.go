package fracture

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A plane through the middle halves a symmetric body (the facets turn one way, so to 1e-4 only).
func TestCutHalvesTheVolume(t *testing.T) {
	b := Kernel(10, 7, 4, 2.8, 0)
	whole, mid := b.Volume()
	if math.Abs(mid[0])+math.Abs(mid[1])+math.Abs(mid[2]) > 1e-9 {
		t.Errorf("centroid %v, want the origin", mid)
	}
	n := Vec{1, 2, -1}.unit()
	lower, _ := b.Below(n, 0).Volume()
	upper, _ := b.Below(n.scale(-1), 0).Volume()
	if math.Abs(lower-whole/2) > 1e-4*whole || math.Abs(upper-whole/2) > 1e-4*whole {
		t.Errorf("halves %g and %g of %g", lower, upper, whole)
	}
	if lower <= 0 {
		t.Errorf("faces are turned inside out: volume %g", lower)
	}
}

// An ellipsoid of 24 x 14 facets lies within 4 % of its closed-form volume and area, from below.
func TestEllipsoidClosedForm(t *testing.T) {
	p := Kernel(10, 7, 4, 2, 0).Lie(1)
	for what, c := range map[string][3]float64{
		"volume":    {p.VolumeMM3, math.Pi / 6 * 280, 0.04},
		"area":      {p.AreaMM2, math.Pi / 4 * 70, 0.03},
		"length":    {p.LengthMM, 10, 0.01},
		"width":     {p.WidthMM, 7, 0.01},
		"thickness": {p.ThicknessMM, 4, 0.01},
	} {
		if r := c[0] / c[1]; r > 1+1e-9 && what != "thickness" || math.Abs(r-1) > c[2] {
			t.Errorf("%s: got %g, want %g", what, c[0], c[1])
		}
	}
}

func TestPassesClosedForm(t *testing.T) {
	for _, c := range []struct {
		length, width, thickness float64
		want                     bool
	}{
		{20, 4.5, 4.5, true}, // fits end-on whatever its length
		{10.54, 7.26, 4.57, false},
		{10, 5.4, 3.9, true},  // ellipse: sqrt((5.4^2+3.9^2)/2) = 4.71 < 4.75, turned by 45 degrees
		{10, 5.6, 4.0, false}, // 4.87
	} {
		if got := Kernel(c.length, c.width, c.thickness, 2, 0).Lie(1).Passes475; got != c.want {
			t.Errorf("%v passes: %v", c, got)
		}
	}
}

func TestPiecesSumToTheKernel(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 20 {
		sum := 0.0
		for _, p := range Default(3).Draw(r) {
			sum += p.Share
			if p.WidthMM < p.ThicknessMM*0.9 || p.LengthMM < p.WidthMM {
				t.Errorf("piece does not lie flat: %+v", p)
			}
		}
		if sum > 1+1e-4 || sum < 0.98 {
			t.Errorf("pieces sum to %g of the kernel", sum)
		}
	}
}
