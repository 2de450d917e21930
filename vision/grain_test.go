package vision

import (
	"math"
	"math/rand/v2"
	"testing"
)

// White noise of a known standard deviation on a slope: the slope has no second difference. Rounding to whole steps and
// the median of a few ten thousand differences leave 5 %.
func TestGrainIsThatOfWhiteNoise(t *testing.T) {
	for _, want := range []float64{0, 1, 2.5, 6} {
		rng := rand.New(rand.NewPCG(7, 1))
		m := labImage{400, 300, make([]uint8, 3*400*300)}
		for i := range m.w * m.h {
			v := 120 + 0.1*float64(i%m.w) + rng.NormFloat64()*want*255/100
			m.pix[3*i] = uint8(math.Round(v))
		}
		if got := m.grain(); math.Abs(got-want) > 0.05*want+0.1 {
			t.Errorf("noise of %g: %.2f", want, got)
		}
	}
}

func TestOnlyGrainIsSmoothed(t *testing.T) {
	for grain, want := range map[float64]float64{0: 0, 1: 0, clearGrain: 0, 3.5: 1.45, 50: mostCalm} {
		if got := calmSigma(grain); math.Abs(got-want) > 0.05 {
			t.Errorf("grain %g: smoothed by %.2f px, not %.2f", grain, got, want)
		}
	}
}
