package main

import (
	"math"
	"math/rand/v2"
	"testing"

	"gristmark/internal/fit/regress"
	"gristmark/internal/result"
	"gristmark/vision"
)

// The distance to an edge goes outward, in units of the way given, to edges that face the same way alone.
func TestOff(t *testing.T) {
	cells := trueEdges{}
	square := []result.XY{{10, 10}, {50, 10}, {50, 50}, {10, 50}} // clockwise, y down
	for i, a := range square {
		cells.add(edge{a, square[(i+1)%4]})
	}
	for _, c := range []struct {
		at, outward result.XY
		want        float64
		ok          bool
	}{
		{result.XY{30, 10.75}, result.XY{0, -1}, 0.75, true},
		{result.XY{30, 9}, result.XY{0, -2}, -0.5, true},
		{result.XY{51.5, 30}, result.XY{1, 0}, -1.5, true},
		{result.XY{51.5, 30}, result.XY{-1, 0}, 0, false}, // faces the other way
		{result.XY{30, 14}, result.XY{0, -1}, 0, false},   // too far
	} {
		got, ok := cells.off(c.at, c.outward)
		if ok != c.ok || ok && math.Abs(got-c.want) > 1e-9 {
			t.Errorf("from %v to %v: %.3f %v, want %.3f %v", c.at, c.outward, got, ok, c.want, c.ok)
		}
	}
}

// What the features tell is learned: a weighted sum of two of them, here, to a tenth of its scatter.
func TestFitLearns(t *testing.T) {
	g := rand.New(rand.NewPCG(1, 2))
	examples := make([]example, 4000)
	for i := range examples {
		x := make([]float32, len(vision.EdgeFeatureNames()))
		for k := range x {
			x[k] = float32(g.NormFloat64())
		}
		examples[i] = example{i, x, 0.2*x[3] - 0.1*x[40]}
	}
	n := fit(examples[:3000], regress.Settings{Hidden: 4, Epochs: 150, Batch: 512, Rate: 0.004}, g)
	var before, after float64
	for _, e := range examples[3000:] {
		off := float64(e.off)
		before += off * off
		after += math.Pow(off-n.Value(e.x), 2)
	}
	if after > 0.01*before {
		t.Errorf("%.4f of the scatter is left", math.Sqrt(after/before))
	}
}
