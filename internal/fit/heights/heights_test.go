package main

import (
	"math"
	"math/rand/v2"
	"testing"

	"gristmark/internal/fit/regress"
	"gristmark/vision"
)

// Between the heights tried the error is interpolated, beyond them it goes on as between the last.
func TestAt(t *testing.T) {
	var e example
	for k, h := range triedMM {
		e.off[k] = 0.3 - 0.1*h
	}
	for _, h := range []float64{0, 0.02, 0.15, 1, 4.2, 14, 15} {
		off, perMM := e.at(h)
		if math.Abs(off-(0.3-0.1*h)) > 1e-12 || math.Abs(perMM+0.1) > 1e-12 {
			t.Errorf("at %g mm: %g, %g a mm, want %g, -0.1", h, off, perMM, 0.3-0.1*h)
		}
	}
}

// Heights that two features tell are learned from the areas alone.
func TestFitLearns(t *testing.T) {
	g := rand.New(rand.NewPCG(3, 4))
	examples := make([]example, 4000)
	for i := range examples {
		x := make([]float32, len(vision.FeatureNames()))
		for k := range x {
			x[k] = float32(g.NormFloat64())
		}
		examples[i].x = x
		own, perMM := math.Exp(0.5*float64(x[2])-0.3*float64(x[11])), 0.02+0.02*g.Float64()
		for k, h := range triedMM {
			examples[i].off[k] = perMM * (own - h)
		}
	}
	n := fit(examples[:3000], regress.Settings{Hidden: 4, Epochs: 120, Batch: 128, Rate: 0.004}, g)
	var before, after float64
	for _, e := range examples[3000:] {
		off, _ := e.at(vision.HeightOf(n.Value(e.x)))
		flat, _ := e.at(1)
		before, after = before+math.Abs(flat), after+math.Abs(off)
	}
	if after > 0.1*before {
		t.Errorf("areas are off by %.3f of what they are at 1 mm", after/before)
	}
}
