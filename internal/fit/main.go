// Command fit fits the model by which package vision names pieces, on rendered tuning scenes.
//
//	go run ./internal/scene/render --all --seed 900000 --count 8 --width 2000 --out build/fit
//	go run ./internal/scene/render --wild --seed 20000 --count 555 --width 2000 --out build/fit
//	go run ./internal/fit --scenes build/fit --out vision/model.json
//
// It measures each scene on the true plane, pairs what was found with the truth, fits perceptrons
// on three quarters of the scenes and their heat on the rest, and prints how the rest is named.
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
	scenes := flag.String("scenes", "build/fit", "folder of rendered scenes with truth")
	out := flag.String("out", "vision/model.json", "where the model goes")
	nets := flag.Int("nets", 4, "perceptrons whose log odds are averaged")
	hidden := flag.Int("hidden", 28, "hidden units of each")
	epochs := flag.Int("epochs", 120, "passes over the pieces")
	kept := flag.String("examples", "", "file that keeps what was found in the scenes, to fit again without looking again")
	seed := flag.Uint64("seed", 1, "of the first one's starting weights and order; the others count on")
	flag.Parse()
	if err := run(*scenes, *kept, *out, *nets, *hidden, *epochs, *seed); err != nil {
		log.Fatal("fit: ", err)
	}
}

func run(dir, kept, out string, nets, hidden, epochs int, seed uint64) error {
	examples, n, err := examplesFrom(dir, kept)
	if err != nil {
		return err
	}
	train, rest := gather.Apart(examples, func(e example) int { return e.scene })
	log.Printf("%d scenes, %d pieces to fit, %d to check", n, len(train), len(rest))
	net := together(descent.Several(nets, seed, func(seed uint64) *perceptron {
		return fit(train, hidden, epochs, rand.New(rand.NewPCG(seed, 7)))
	}))
	net.heat = bestHeat(net, rest)
	m := net.model(fmt.Sprintf("on %d rendered tuning scenes, %d pieces, seeds from %d, %d times %d hidden units, %d passes", n, len(train), seed, nets, hidden, epochs))
	report(net, rest)
	return descent.Write(out, m)
}
