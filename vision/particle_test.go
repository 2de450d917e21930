package vision

import (
	"math"
	"testing"

	"gristmark/internal/result"
)

// A part is named by the likelier of the crop's classes; what it lacks of being one of the crop's counts against its name, not among its
// probabilities.
func TestCall(t *testing.T) {
	for _, c := range []struct {
		p           odds4
		class       result.Class
		probability float64
	}{
		{odds4{0.9, 0.08, 0.02, 0}, result.WholeKernel, 0.9},
		{odds4{0.01, 0.60, 0.01, 0.38}, result.BrokenKernel, 0.60},
		{odds4{0.01, 0.53, 0.01, 0.45}, result.Unsure, 0.53}, // a stone, it may be
		{odds4{0.45, 0.5, 0.05, 0}, result.Unsure, 0.5},
		{odds4{0, 0.1, 0.85, 0.05}, result.Stover, 0.85},
	} {
		var d draft
		d.figure.area = 30
		d.call(c.p, DefaultOptions().Kernel)
		if d.Class != c.class || math.Abs(d.Probability-c.probability) > 1e-9 {
			t.Errorf("%v is %s with %g, want %s with %g", c.p, d.Class, d.Probability, c.class, c.probability)
		}
		if sum := d.PWhole + d.PBroken + d.PStover; math.Abs(sum-1) > 1e-9 || d.pForeign != c.p[3] {
			t.Errorf("%v: its probabilities add up to %g, %g of foreign", c.p, sum, d.pForeign)
		}
		if (d.KernelShare == nil) != (c.class == result.Stover) {
			t.Errorf("%v: kernel share %v", c.p, d.KernelShare)
		}
	}
}
