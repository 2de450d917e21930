package main

import (
	"math"
	"math/rand/v2"
	"testing"

	"gristmark/vision"
)

// The log odds of perceptrons put together are the mean of theirs.
func TestTogether(t *testing.T) {
	g := rand.New(rand.NewPCG(1, 2))
	train := make([]example, 12)
	for i := range train {
		train[i] = example{x: make([]float64, len(vision.FeatureNames())), class: i % 4}
		for k := range train[i].x {
			train[i].x[k] = g.NormFloat64()
		}
	}
	nets := []*perceptron{newPerceptron(train, 3, g), newPerceptron(train, 5, g), newPerceptron(train, 2, g)}
	all := together(nets)
	for _, e := range train {
		var want [4]float64
		for _, n := range nets {
			for c, o := range n.forward(e.x, make([]float64, n.in), make([]float64, n.hidden)) {
				want[c] += o / 3
			}
		}
		got := all.forward(e.x, make([]float64, all.in), make([]float64, all.hidden))
		for c := range want {
			if math.Abs(got[c]-want[c]) > 1e-12 {
				t.Fatalf("log odds %v, want %v", got, want)
			}
		}
	}
}
