package vision

import (
	"math"
	"testing"

	"gristmark/internal/result"
)

// A disc far from the foot that looks longer along the line of sight than across is taken as taller than one that does not; turned about the foot, it
// is as tall. A square, a slender ellipse and a small one are no rounds.
func TestRoundHeight(t *testing.T) {
	at := func(along, across, turn float64, n int) []result.XY {
		o := make([]result.XY, n)
		sin, cos := math.Sincos(turn)
		for i := range o {
			s, c := math.Sincos(2*math.Pi*float64(i)/float64(n) + math.Pi/4)
			x, y := 100+along/2*c, across/2*s
			o[i] = result.XY{x*cos - y*sin, x*sin + y*cos}
		}
		return o
	}
	flat, ok := roundHeight(at(15, 15, 0, 90), result.XY{})
	if !ok || flat < uprightFrom || flat > mostRound {
		t.Errorf("a disc: %v, %v", flat, ok)
	}
	for _, turn := range []float64{0, 0.5, 2, 4} {
		if h, ok := roundHeight(at(19, 15, turn, 90), result.XY{}); !ok || math.Abs(h-(flat+4*roundLean)) > 0.02 {
			t.Errorf("a disc with 4 mm of wall, turned by %g: %v, %v, want %v", turn, h, ok, flat+4*roundLean)
		}
	}
	if h, ok := roundHeight(at(15, 20, 0, 90), result.XY{}); !ok || h >= flat+0.7 {
		t.Errorf("a disc longer across the line of sight: %v, %v, want no taller than its width makes it", h, ok)
	}
	for name, o := range map[string][]result.XY{"square": at(20, 20, 0, 4), "slender": at(30, 10, 0, 90), "small": at(4, 4, 0, 90)} {
		if h, ok := roundHeight(o, result.XY{}); ok {
			t.Errorf("%s: a round %v mm high", name, h)
		}
	}
}
