package main

import (
	"math"
	"math/rand/v2"
	"testing"

	"gristmark/internal/fit/gather"
	"gristmark/internal/fit/regress"
	"gristmark/vision"
)

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
		for k, h := range gather.TriedMM {
			examples[i].off[k] = perMM * (own - h)
		}
	}
	n := fit(examples[:3000], regress.Settings{Hidden: 4, Epochs: 120, Batch: 128, Rate: 0.004}, g)
	var before, after float64
	for _, e := range examples[3000:] {
		off, _ := e.off.At(vision.HeightOf(n.Value(e.x)))
		flat, _ := e.off.At(1)
		before, after = before+math.Abs(flat), after+math.Abs(off)
	}
	if after > 0.1*before {
		t.Errorf("areas are off by %.3f of what they are at 1 mm", after/before)
	}
}
