package vision

import (
	"math/rand/v2"
	"testing"

	"gocv.io/x/gocv"
)

// Components are those of OpenCV, in its order.
func TestComponentsAsOpenCVHasThem(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 400 {
		w, h := 1+rng.IntN(60), 1+rng.IntN(60)
		mask, bytes, share := make([]bool, w*h), make([]byte, w*h), rng.Float64()
		for i := range mask {
			if i%w > 0 && rng.IntN(2) == 0 { // as long runs as specks
				mask[i] = mask[i-1]
			} else {
				mask[i] = rng.Float64() < share
			}
			if mask[i] {
				bytes[i] = 1
			}
		}
		src, err := gocv.NewMatFromBytes(h, w, gocv.MatTypeCV8U, bytes)
		if err != nil {
			t.Fatal(err)
		}
		want := gocv.NewMat()
		count := gocv.ConnectedComponents(src, &want)
		labels, n := components(mask, w, h)
		if n != count-1 {
			t.Errorf("%d × %d: %d components, want %d", w, h, n, count-1)
		}
		for i, l := range labels {
			if l != want.GetIntAt(i/w, i%w)-1 {
				t.Fatalf("%d × %d: cell %d has label %d, want %d", w, h, i, l, want.GetIntAt(i/w, i%w)-1)
			}
		}
		src.Close()
		want.Close()
	}
}
