package main

import (
	"math"
	"math/rand/v2"
	"testing"

	"gristmark/vision"
)

// Beside a model that knows the first features only, log odds are the weighted mean of both, the model's cooled by its heat. Features stay
// within four standard deviations of either here: beyond, each would bound them by its own.
func TestBeside(t *testing.T) {
	g := rand.New(rand.NewPCG(5, 6))
	train := make([]example, 40)
	for i := range train {
		train[i] = example{x: make([]float64, len(vision.FeatureNames())), class: i % 4}
		for k := range train[i].x {
			train[i].x[k] = g.Float64()
		}
	}
	n, other := newPerceptron(train, 3, g), newPerceptron(train[:20], 5, g)
	const known, share = 30, 0.3
	old := other.model("")
	old.Features, old.Mean, old.SD, old.Heat, old.CloseUp = old.Features[:known], old.Mean[:known], old.SD[:known], 1.25, 0
	for u, row := range old.Hidden {
		old.Hidden[u] = append(row[:known:known], row[len(row)-1])
	}
	other.closeUp = 0
	for u := range other.hidden {
		clear(other.w1[u*(other.in+1)+known : (u+1)*(other.in+1)-1])
	}
	both := n.beside(old, share)
	for _, e := range train {
		own := n.forward(e.x, make([]float64, n.in), make([]float64, n.hidden))
		before := other.forward(e.x, make([]float64, n.in), make([]float64, other.hidden))
		got := both.forward(e.x, make([]float64, n.in), make([]float64, both.hidden))
		for c := range got {
			if want := (1-share)*own[c] + share*before[c]/old.Heat; math.Abs(got[c]-want) > 1e-4 { // models are written to six digits
				t.Fatalf("log odds %v, want %v from %v and %v", got[c], want, own, before)
			}
		}
	}
}
