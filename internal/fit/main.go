// Command fit fits the model by which package vision names pieces, on rendered tuning scenes.
//
//	go run ./internal/fit --found build/closeup --out vision/model.json
//
// It reads what internal/fit/closeup found in rendered scenes and what internal/fit/net/said.py made of the close-ups, fits perceptrons
// on three quarters of the scenes and their heat on the rest, prints how the rest is named, and fits once more on all, with that heat.
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
	found := flag.String("found", "build/closeup", "what was found in rendered scenes, without the files' endings")
	out := flag.String("out", "vision/model.json", "where the model goes")
	nets := flag.Int("nets", 4, "perceptrons whose log odds are averaged")
	hidden := flag.Int("hidden", 40, "hidden units of each")
	epochs := flag.Int("epochs", 25, "passes over the pieces")
	seed := flag.Uint64("seed", 1, "of the first one's starting weights and order; the others count on")
	flag.Parse()
	if err := run(*found, *out, *nets, *hidden, *epochs, *seed); err != nil {
		log.Fatal("fit: ", err)
	}
}

func run(found, out string, nets, hidden, epochs int, seed uint64) error {
	examples, n, err := examplesFrom(found)
	if err != nil {
		return err
	}
	train, rest := gather.Apart(examples, func(e example) int { return e.scene })
	log.Printf("%d scenes, %d pieces to fit, %d to check", n, len(train), len(rest))
	several := func(train []example) *perceptron {
		return together(descent.Several(nets, seed, func(seed uint64) *perceptron {
			return fit(train, hidden, epochs, rand.New(rand.NewPCG(seed, 7)))
		}))
	}
	checked := several(train)
	checked.heat = bestHeat(checked, rest)
	report(checked, rest)
	net := several(examples)
	net.heat = checked.heat
	return descent.Write(out, net.model(fmt.Sprintf("on %d rendered tuning scenes, %d pieces, seeds from %d, %d times %d hidden units, %d passes", n, len(examples), seed, nets, hidden, epochs)))
}
