package vision

import (
	"math"
	"math/rand/v2"
	"testing"

	"gristmark/internal/result"
)

// spreadOf strews bars of 5 and of 60 px, as many of each, over twice the frame of 200 by 150 px or inside of it, and gives the weights of
// both kinds that are kept.
func spreadOf(beyond bool) (short, long float64) {
	g := rand.New(rand.NewPCG(5, 6))
	t := truncation{extentPx: [2]float64{200, 150}}
	var kept [2][][]result.XY
	var cut, added [2]float64
	for i := range 80000 {
		l, a := [2]float64{5, 60}[i%2], g.Float64()*math.Pi
		x, y := l*math.Abs(math.Cos(a))/2, l*math.Abs(math.Sin(a))/2
		px, py := 400*g.Float64()-100, 300*g.Float64()-75
		if !beyond {
			px, py = x+(200-2*x)*g.Float64(), y+(150-2*y)*g.Float64()
		}
		if px+x < 0 || py+y < 0 || px-x > 200 || py-y > 150 {
			continue
		}
		atX, atY := px < x || px+x > 200, py < y || py+y > 150
		if atX {
			cut[0]++
		}
		if atY {
			cut[1]++
		}
		if !atX && !atY {
			o := []result.XY{{px - x, py - y}, {px + x, py + y}, {px - x, py + y}}
			kept[i%2] = append(kept[i%2], o)
			w := t.weights(o)
			added[0], added[1] = added[0]+w[0]-1, added[1]+w[1]-1
		}
	}
	t.follow(cut, added)
	for _, o := range kept[0] {
		short += t.weight(o)
	}
	for _, o := range kept[1] {
		long += t.weight(o)
	}
	return short, long
}

// Of a spread that goes on beyond the frame, long pieces are kept less often and weighted for it; of one inside of it none are. 5 % is three
// standard deviations of the ratio of some 9000 bars of each kind, of unequal weights.
func TestWeightsFollowTheSpread(t *testing.T) {
	if short, long := spreadOf(true); math.Abs(long/short-1) > 0.05 {
		t.Errorf("beyond the frame: %.0f long for %.0f short", long, short)
	}
	if short, long := spreadOf(false); short != 40000 || long != 40000 {
		t.Errorf("inside the frame: %.0f long, %.0f short of 40000 each", long, short)
	}
}
