package vision

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// Pieces that show nothing leave the usual shares as they are, sure ones stay sure, and what is foreign stays as likely.
func TestRemixKeepsWhatItCannotTell(t *testing.T) {
	to := usual(ShowMixed)
	sum := to[0] + to[1] + to[2]
	blank := odds4{0.9 * to[0] / sum, 0.9 * to[1] / sum, 0.9 * to[2] / sum, 0.1}
	ps := []odds4{blank, blank, blank}
	remix(ps, to)
	for _, p := range ps {
		for k := range p {
			if math.Abs(p[k]-blank[k]) > 1e-9 {
				t.Fatalf("pieces without evidence moved from %v to %v", blank, p)
			}
		}
	}
	sure := []odds4{{1, 0, 0, 0}, {0, 1, 0, 0}, {0, 0, 1, 0}, {0, 0, 0, 1}}
	remix(sure, to)
	for k, p := range sure {
		if math.Abs(p[k]-1) > 1e-9 {
			t.Errorf("a sure piece of class %d became %v", k, p)
		}
	}
	remix(nil, to)
}

// Kernels and stover are drawn whose evidence is a normal deviate, one standard deviation to either side: the sum of
// probabilities under the usual shares counts too many of what is rare. Over 400 photos the counts after the move must be
// nearer to the truth, and the probabilities must lose less.
func TestRemixFollowsThePhoto(t *testing.T) {
	to := usual(ShowMixed)
	kernels := (to[0] + to[1]) / (to[0] + to[1] + to[2])
	for _, share := range []float64{0.03, 0.3, 0.97} {
		t.Run(fmt.Sprint(share), func(t *testing.T) {
			g := rand.New(rand.NewPCG(3, uint64(1000*share)))
			var before, after, lossBefore, lossAfter float64
			for range 400 {
				ps, is := drawnPieces(g, 80, share, kernels, to)
				before += math.Abs(countedKernels(ps) - is.n)
				lossBefore += is.loss(ps)
				remix(ps, to)
				after += math.Abs(countedKernels(ps) - is.n)
				lossAfter += is.loss(ps)
			}
			if after > 0.8*before || lossAfter > 0.95*lossBefore {
				t.Errorf("share %.2f: off by %.2f kernels before and %.2f after, loss %.1f and %.1f", share, before/400, after/400, lossBefore/400, lossAfter/400)
			}
		})
	}
}

type drawnTruth struct {
	kernel []bool
	n      float64
}

func (d drawnTruth) loss(ps []odds4) (sum float64) {
	for i, p := range ps {
		q := p[2]
		if d.kernel[i] {
			q = p[0] + p[1]
		}
		sum -= math.Log(q)
	}
	return sum
}

func countedKernels(ps []odds4) (sum float64) {
	for _, p := range ps {
		sum += p[0] + p[1]
	}
	return sum
}

// drawnPieces are n pieces of which share are kernels, with their probabilities where kernels are taken for usual.
func drawnPieces(g *rand.Rand, n int, share, usual float64, to odds4) (ps []odds4, is drawnTruth) {
	whole := to[0] / (to[0] + to[1])
	for range n {
		x := g.NormFloat64() - 1
		kernel := g.Float64() < share
		if kernel {
			x += 2
			is.n++
		}
		k := 1 / (1 + math.Exp(-2*x)*(1-usual)/usual)
		is.kernel = append(is.kernel, kernel)
		ps = append(ps, odds4{k * whole, k * (1 - whole), 1 - k, 0})
	}
	return ps, is
}
