package vision

import (
	"math"
	"testing"
)

// Log odds of a piece and shares of its kinds are those of the soft maximum; where the ground is sure by far the log odds are at most log 3 too low, of
// what is bounded by far less, and nothing is shared out.
func TestPixelOdds(t *testing.T) {
	for _, c := range [][5]float64{{0, 0, 0, 0, 0}, {1, 4, 2, -3, 1}, {6, 1, 0.5, -1, -4}, {9, 1.5, 0.5, -1, 3}, {12, 1, 1, 1, 0}} {
		piece, kernel, whole, part := pixelOdds(float32(c[0]), float32(c[1]), float32(c[2]), float32(c[3]), float32(c[4]))
		w, b, s := math.Exp(c[1]), math.Exp(c[2]), math.Exp(c[3])
		odds, sure := math.Log(w+b+s)-c[0], c[0]-max(c[1], c[2], c[3]) > surelyGround
		if sure {
			if float64(piece) > odds || float64(piece) < odds-math.Log(3)-1e-5 || float64(piece) > -mostNet || kernel != 0 || whole != 0 || part != 0 {
				t.Errorf("%v: %v, %v, %v, %v; log odds %v", c, piece, kernel, whole, part, odds)
			}
			continue
		}
		for _, v := range [][2]float64{{float64(piece), odds}, {float64(kernel), (w + b) / (w + b + s)}, {float64(whole), w / (w + b + s)}, {float64(part), 1 / (1 + math.Exp(float64(contactWeight)-c[4]))}} {
			if math.Abs(v[0]-v[1]) > 1e-5 {
				t.Errorf("%v: %v, want %v", c, v[0], v[1])
			}
		}
	}
}
