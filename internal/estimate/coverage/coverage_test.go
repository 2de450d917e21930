package coverage

import (
	"math"
	"testing"
)

// Few draws from six lots, and a lot's own way to break is common to its draws, so loose limits: command table has the figures.
func TestIntervalsHold(t *testing.T) {
	plan := Full(1)
	plan.Seed, plan.Lots, plan.Draws, plan.Kernels, plan.Resample = 77, 6, 15, 30, 200
	rows := Run(plan)
	if len(rows) != figures {
		t.Fatalf("%d rows", len(rows))
	}
	for _, r := range rows {
		if r.Missing > 0 || r.Draws != 90 {
			t.Errorf("%s: %d of 90 samples without an interval", r.Figure, r.Missing)
		}
		if r.Held < 0.80 {
			t.Errorf("%s: held %.2f", r.Figure, r.Held)
		}
		if math.IsNaN(r.Against) || r.Against > 1.4 {
			t.Errorf("%s: %.2f times the width from true outlines", r.Figure, r.Against)
		}
	}
}

// The score's probabilities are calibrated: of those called whole with 0.2 to 0.8, as many are as they say.
func TestWholeChanceIsCalibrated(t *testing.T) {
	r := source(5)
	var said, were, n float64
	for range 40000 {
		whole := r.Float64() < 0.15
		if p := wholeChance(r, whole, 0.15); p > 0.2 && p < 0.8 {
			n++
			said += p
			if whole {
				were++
			}
		}
	}
	// Standard error of the share about 0.017.
	if math.Abs(said-were)/n > 0.05 {
		t.Errorf("said %.3f, were %.3f of %g", said/n, were/n, n)
	}
}

func TestTruthOfALot(t *testing.T) {
	l := lot{
		grains: []grain{{whole: true}, {}},
		straws: []straw{{length: 10, width: 1, mass: 3, box: 1}, {length: 10, width: 1, mass: 1, box: 3}},
	}
	l.grains[0].VolumeMM3, l.grains[1].VolumeMM3, l.grains[1].Passes475 = 300, 100, true
	got := l.truth()
	if got[Whole] != 50 || got[Passing] != 25 || math.Abs(got[Length]-10) > 1e-9 || got[Middle] != 75 || got[Pan] != 25 || got[Top] != 0 {
		t.Errorf("got %v", got)
	}
}
