// Command heights fits the model by which package vision takes pieces to stand up from the tray, on rendered scenes.
//
//	go run ./internal/fit/heights --from build/closeup --out vision/heights.json
//
// It reads what internal/fit/closeup found in rendered scenes and what internal/fit/net/said.py made of the close-ups, fits a perceptron on three
// quarters of the scenes to the height that makes each piece's area right, and prints how far off the areas of the rest are.
package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gristmark/internal/fit/regress"
	"gristmark/vision"
)

func main() {
	regress.Program[example]{
		Name: "heights", What: "pieces", Features: vision.FeatureNames(), Stream: 13,
		Settings: regress.Settings{Hidden: 8, Epochs: 20, Batch: 128, Rate: 0.004, Jitter: 0.1},
		From:     "build/closeup", Gather: examplesFrom, Scene: func(e example) int { return e.scene }, Fit: fit, Report: report,
	}.Main()
}

// huber is from where an error of the log of an area counts in proportion.
const huber = 0.04

func fit(train []example, s regress.Settings, g *rand.Rand) *regress.Perceptron {
	x := make([][]float32, len(train))
	for i, e := range train {
		x[i] = e.x
	}
	return regress.Fit(x, func(i int, y float64) float64 {
		t := vision.HeightOf(y)
		off, perMM := train[i].off.At(t)
		return math.Max(-huber, math.Min(huber, off)) * perMM * t
	}, s, g)
}

// report prints the errors of areas by kind, without a height and with the model's, %.
func report(n *regress.Perceptron, rest []example) {
	errs := map[string][2][]float64{}
	for _, e := range rest {
		off, _ := e.off.At(vision.HeightOf(n.Value(e.x)))
		for _, kind := range []string{kinds[e.class], "all"} {
			k := errs[kind]
			k[0], k[1] = append(k[0], 100*e.off[0]), append(k[1], 100*off)
			errs[kind] = k
		}
	}
	fmt.Println("area errors, %: bias and median without a height, bias, median and 90 % with the model's")
	for _, kind := range append(kinds[:], "all") {
		k := errs[kind]
		fmt.Printf("%-6s %5d  %6.2f %5.2f  %6.2f %5.2f %6.2f\n", kind, len(k[0]), regress.Quantile(k[0], 0.5), regress.Quantile(absolute(k[0]), 0.5),
			regress.Quantile(k[1], 0.5), regress.Quantile(absolute(k[1]), 0.5), regress.Quantile(absolute(k[1]), 0.9))
	}
}

func absolute(v []float64) []float64 {
	out := make([]float64, len(v))
	for i, x := range v {
		out[i] = math.Abs(x)
	}
	return out
}
