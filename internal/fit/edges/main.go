// Command edges fits the model by which package vision puts outlines on their edges, on rendered scenes.
//
//	internal/fit/own.sh build/render build/edges 980000001 22 0 0
//	go run ./internal/fit/edges --from build/edges --out vision/edges.json
//
// It looks across the outlines that are found in each scene, holds their points against the true outlines, fits a perceptron on three
// quarters of the scenes and prints how far off the rest are before and after.
package main

import (
	"flag"
	"fmt"
	"log"
	"math"
	"math/rand/v2"

	"gristmark/internal/fit/descent"
	"gristmark/internal/fit/gather"
	"gristmark/internal/fit/regress"
	"gristmark/vision"
)

func main() {
	s := regress.Settings{Batch: 512, Rate: 0.004}
	from := flag.String("from", "build/edges", "folder of rendered scenes with truth")
	out := flag.String("out", "vision/edges.json", "where the model goes")
	seed := flag.Uint64("seed", 1, "of the starting weights and the order")
	flag.IntVar(&s.Hidden, "hidden", 32, "hidden units")
	flag.IntVar(&s.Epochs, "epochs", 12, "passes over the points")
	flag.Parse()
	if err := run(*from, *out, s, *seed); err != nil {
		log.Fatal("edges: ", err)
	}
}

func run(from, out string, s regress.Settings, seed uint64) error {
	examples, n, err := gather.Scenes(from, examplesOf)
	if err != nil {
		return err
	}
	train, rest := gather.Apart(examples, func(e example) int { return e.scene })
	log.Printf("%d scenes, %d points to fit, %d to check", n, len(train), len(rest))
	net := fit(train, s, rand.New(rand.NewPCG(seed, 11)))
	report(net, rest)
	return descent.Write(out, net.Model(vision.EdgeFeatureNames(), fmt.Sprintf("on %d rendered tuning scenes, %d points, seed %d, %d hidden units, %d passes",
		n, len(train), seed, s.Hidden, s.Epochs)))
}

// huberPx is from where an error counts in proportion, photo px.
const huberPx = 0.5

func fit(train []example, s regress.Settings, g *rand.Rand) *regress.Perceptron {
	x := make([][]float32, len(train))
	for i, e := range train {
		x[i] = e.x
	}
	return regress.Fit(x, func(i int, y float64) float64 {
		return math.Max(-huberPx, math.Min(huberPx, y-float64(train[i].off)))
	}, s, g)
}

// report prints how far off the points are, and the middles of scenes, before and after, photo px.
func report(n *regress.Perceptron, rest []example) {
	var all [2][]float64
	scenes := map[int][2][]float64{}
	for _, e := range rest {
		s := scenes[e.scene]
		for k, off := range [2]float64{float64(e.off), float64(e.off) - n.Value(e.x)} {
			all[k] = append(all[k], math.Abs(off))
			s[k] = append(s[k], off)
		}
		scenes[e.scene] = s
	}
	for k, when := range []string{"before", "after"} {
		var middles []float64
		for _, s := range scenes {
			middles = append(middles, math.Abs(regress.Quantile(s[k], 0.5)))
		}
		fmt.Printf("%-6s points: median %.3f, 90 %% %.3f px; scenes' middles: median %.3f, 90 %% %.3f px\n", when,
			regress.Quantile(all[k], 0.5), regress.Quantile(all[k], 0.9), regress.Quantile(middles, 0.5), regress.Quantile(middles, 0.9))
	}
}
