package main

import (
	"math"
	"math/rand/v2"
	"testing"

	"gristmark/vision"
)

// The log odds of perceptrons put together are the mean of theirs, but for the five digits that the file keeps.
func TestTogether(t *testing.T) {
	g := rand.New(rand.NewPCG(1, 2))
	train := make([]example, 12)
	for i := range train {
		train[i].X = make([]float64, len(vision.CutFeatureNames()))
		for k := range train[i].X {
			train[i].X[k] = g.NormFloat64()
		}
	}
	nets := []*perceptron{newPerceptron(train, 3, g), newPerceptron(train, 5, g)}
	all := together(nets).model("")
	odds := func(m vision.CutModel, x []float64) float64 { p := m.Probability(x); return math.Log(p / (1 - p)) }
	for _, e := range train {
		want := (odds(nets[0].model(""), e.X) + odds(nets[1].model(""), e.X)) / 2
		if got := odds(all, e.X); math.Abs(got-want) > 0.01 {
			t.Fatalf("log odds %.4f, want %.4f", got, want)
		}
	}
}
