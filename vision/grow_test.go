package vision

import (
	"math/rand/v2"
	"testing"
)

// Growing and shrinking are what the distances of OpenCV say, cell by cell.
func TestGrowByDistance(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 300 {
		w, h := 1+rng.IntN(150), 1+rng.IntN(90)
		mask, share := make([]bool, w*h), rng.Float64()*rng.Float64()
		for i := range mask {
			mask[i] = rng.Float64() < share
		}
		r := rng.Float64() * 20
		if rng.IntN(2) == 0 {
			r = float64(rng.IntN(5))
		}
		out, in := growBy(mask, w, h, r), shrinkBy(mask, w, h, r)
		to, off := distanceTo(mask, w, h, true), distanceTo(mask, w, h, false)
		for i := range mask {
			if out[i] != (float64(to[i]) <= r) || in[i] != (float64(off[i]) > r) {
				t.Fatalf("%d × %d cells by %v: cell %d grown %v shrunk %v, distances %v and %v", w, h, r, i, out[i], in[i], to[i], off[i])
			}
		}
	}
}
