package gather

import (
	"math"
	"testing"
)

// Between the heights tried the error is interpolated, beyond them it goes on as between the last.
func TestAt(t *testing.T) {
	var a Areas
	for k, h := range TriedMM {
		a[k] = 0.3 - 0.1*h
	}
	for _, h := range []float64{0, 0.02, 0.15, 1, 4.2, 14, 15} {
		off, perMM := a.At(h)
		if math.Abs(off-(0.3-0.1*h)) > 1e-12 || math.Abs(perMM+0.1) > 1e-12 {
			t.Errorf("at %g mm: %g, %g a mm, want %g, -0.1", h, off, perMM, 0.3-0.1*h)
		}
	}
}
