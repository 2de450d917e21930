package calib

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A copy from two rows of each n is grey as the mean over all of them is where the photo changes evenly down its
// columns, whatever the columns hold.
func TestShrinkFast(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for _, n := range []int{2, 4, 5, 6, 7, 9} {
		const w, h = 40, 30
		p := picture{pix: make([]uint8, 3*w*h*n*n), width: w * n, height: h * n, step: 3 * w * n}
		for x := range 3 * w * n {
			top := 20 + r.IntN(150)
			for y := range h * n {
				p.pix[y*p.step+x] = uint8(top + 60*y/(h*n))
			}
		}
		all, _, _, err := p.shrink(w * h)
		fast, sx, sy, fault := p.shrinkFast(w * h)
		if err != nil || fault != nil || sx != float64(n) || sy != float64(n) || len(fast.pix) != w*h {
			t.Fatal(n, err, fault, sx, sy, len(fast.pix))
		}
		for i := range all.pix {
			if math.Abs(float64(all.pix[i])-float64(fast.pix[i])) > 2 { // both round
				t.Fatalf("%d to 1: %d at %d, not %d", n, fast.pix[i], i, all.pix[i])
			}
		}
	}
}
