// Command cuts fits the model by which package vision tells whether a cut through a blob parts two pieces, on
// rendered tuning scenes with their masks.
//
//	go run ./internal/scene/render --family kernels-touching --count 10 --masks --out build/cuts
//	go run ./internal/fit/cuts --scenes build/cuts --out vision/cuts.json
//
// Each scene is searched with the truth in place of the model; every cut that was looked at is an example. A quarter
// of the scenes is set aside to check on.
package main

import (
	"flag"
	"fmt"
	"log"
	"math/rand/v2"

	"gristmark/internal/fit/descent"
	"gristmark/internal/fit/gather"
)

func main() {
	scenes := flag.String("scenes", "build/cuts", "folder of rendered scenes with truth and labels")
	out := flag.String("out", "vision/cuts.json", "where the model goes")
	kept := flag.String("examples", "", "file that keeps the examples, to fit again without looking again")
	nets := flag.Int("nets", 4, "perceptrons whose log odds are averaged")
	hidden := flag.Int("hidden", 16, "hidden units of each")
	epochs := flag.Int("epochs", 80, "passes over the examples")
	seed := flag.Uint64("seed", 1, "of the first one's starting weights and order; the others count on")
	flag.Parse()
	if err := run(*scenes, *kept, *out, *nets, *hidden, *epochs, *seed); err != nil {
		log.Fatal("cuts: ", err)
	}
}

func run(dir, kept, out string, nets, hidden, epochs int, seed uint64) error {
	examples, n, err := examplesFrom(dir, kept)
	if err != nil {
		return err
	}
	train, rest := gather.Apart(examples, func(e example) int { return e.Scene })
	net := together(descent.Several(nets, seed, func(seed uint64) *perceptron {
		return fit(train, hidden, epochs, rand.New(rand.NewPCG(seed, 9)))
	}))
	m := net.model(fmt.Sprintf("on %d rendered tuning scenes, %d cuts, seeds from %d, %d times %d hidden units, %d passes", n, len(train), seed, nets, hidden, epochs))
	report(&m, train, "fitted on")
	report(&m, rest, "set aside")
	return descent.Write(out, m)
}
