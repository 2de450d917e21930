// Command fit fits the model by which package vision names pieces, on rendered tuning scenes.
//
//	internal/fit/own.sh build/render build/names 970000001 4 60000 70
//	go run ./internal/fit --scenes build/names --out vision/model.json
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
	scenes := flag.String("scenes", "build/names", "folder of rendered scenes with truth")
	out := flag.String("out", "vision/model.json", "where the model goes")
	nets := flag.Int("nets", 4, "perceptrons whose log odds are averaged")
	hidden := flag.Int("hidden", 16, "hidden units of each")
	epochs := flag.Int("epochs", 40, "passes over the pieces")
	beside := flag.String("beside", "", "a model fitted before on other scenes, which goes on counting a fifth")
	kept := flag.String("examples", "", "file that keeps what was found in the scenes, to fit again without looking again")
	seed := flag.Uint64("seed", 1, "of the first one's starting weights and order; the others count on")
	flag.Parse()
	if err := run(*scenes, *kept, *beside, *out, *nets, *hidden, *epochs, *seed); err != nil {
		log.Fatal("fit: ", err)
	}
}

func run(dir, kept, beside, out string, nets, hidden, epochs int, seed uint64) error {
	examples, n, err := examplesFrom(dir, kept)
	if err != nil {
		return err
	}
	train, rest := gather.Apart(examples, func(e example) int { return e.scene })
	log.Printf("%d scenes, %d pieces to fit, %d to check", n, len(train), len(rest))
	net := together(descent.Several(nets, seed, func(seed uint64) *perceptron {
		return fit(train, hidden, epochs, rand.New(rand.NewPCG(seed, 7)))
	}))
	how := ""
	if beside != "" {
		old, err := readModel(beside)
		if err != nil {
			return err
		}
		net, how = net.beside(old, besideShare), fmt.Sprintf("; counting %g, %s", besideShare, old.Fitted)
	}
	net.heat = bestHeat(net, rest)
	m := net.model(fmt.Sprintf("on %d rendered tuning scenes, %d pieces, seeds from %d, %d times %d hidden units, %d passes", n, len(train), seed, nets, hidden, epochs) + how)
	report(net, rest)
	return descent.Write(out, m)
}
