// Command heights fits the model by which package vision takes pieces to stand up from the tray, on rendered scenes.
//
//	internal/fit/own.sh build/render build/names 970000001 4 60000 70
//	go run ./internal/fit/heights --scenes build/names --out vision/heights.json
//
// It measures each scene on the true plane, pairs what was found with the truth, fits a perceptron on three quarters of the scenes to the height
// that makes each piece's area right, and prints how far off the areas of the rest are.
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
		Of:       examplesOf, Scene: func(e example) int { return e.scene }, Fit: fit, Report: report,
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
	kinds := map[string][2][]float64{}
	for _, e := range rest {
		off, _ := e.off.At(vision.HeightOf(n.Value(e.x)))
		for _, kind := range []string{e.kind, "all"} {
			k := kinds[kind]
			k[0], k[1] = append(k[0], 100*e.off[0]), append(k[1], 100*off)
			kinds[kind] = k
		}
	}
	fmt.Println("area errors, %: bias and median without a height, bias, median and 90 % with the model's")
	for _, kind := range []string{"kernel", "straw", "stalk", "cob", "leaf", "husk", "all"} {
		k := kinds[kind]
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
