package vision

import (
	"math"
	"slices"
	"testing"
)

// The distance to a single cell is exact along rows and columns, and elsewhere within the 2 % of a 5 × 5 mask (Borgefors 1986).
func TestDistanceToOneCell(t *testing.T) {
	const w, h, x0, y0 = 41, 23, 12, 9
	for _, target := range []bool{false, true} {
		mask := make([]bool, w*h)
		for i := range mask {
			mask[i] = !target
		}
		mask[y0*w+x0] = target
		before := slices.Clone(mask)
		for i, d := range distanceTo(mask, w, h, target) {
			dx, dy := float64(i%w-x0), float64(i/w-y0)
			want, slack := math.Hypot(dx, dy), 1e-3
			if dx*dy != 0 {
				slack += 0.02 * want
			}
			if math.Abs(float64(d)-want) > slack {
				t.Fatalf("target %v at %v, %v: %v, want %v", target, dx, dy, d, want)
			}
		}
		if !slices.Equal(mask, before) {
			t.Error("the mask was changed")
		}
		if d := distanceTo(mask[:5], 5, 1, target); d[3] != math.MaxFloat32 {
			t.Errorf("no cell to be near to: %v", d[3])
		}
	}
}
