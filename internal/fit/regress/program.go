package regress

import (
	"flag"
	"fmt"
	"log"
	"math/rand/v2"

	"gristmark/internal/fit/descent"
	"gristmark/internal/fit/gather"
)

// Program fits a model to examples found in rendered scenes: on three quarters of them, and tells how it does on the rest.
type Program[T any] struct {
	Name     string // of the model; its file is vision/NAME.json
	What     string // an example is, in the plural
	Features []string
	Settings Settings // unless the command line gives others
	Stream   uint64   // of random numbers, each program its own
	From     string   // where examples come from, unless the command line tells

	Gather func(from string) (all []T, scenes int, err error)
	Scene  func(T) int
	Fit    func(train []T, s Settings, g *rand.Rand) *Perceptron
	Report func(n *Perceptron, rest []T)
}

// Main runs the program as a command.
func (p Program[T]) Main() {
	from := flag.String("from", p.From, "rendered scenes with truth, or what was found in them")
	out := flag.String("out", "vision/"+p.Name+".json", "where the model goes")
	seed := flag.Uint64("seed", 1, "of the starting weights and the order")
	flag.IntVar(&p.Settings.Hidden, "hidden", p.Settings.Hidden, "hidden units")
	flag.IntVar(&p.Settings.Epochs, "epochs", p.Settings.Epochs, "passes over the "+p.What)
	flag.Parse()
	if err := p.run(*from, *out, *seed); err != nil {
		log.Fatal(p.Name, ": ", err)
	}
}

func (p Program[T]) run(from, out string, seed uint64) error {
	examples, n, err := p.Gather(from)
	if err != nil {
		return err
	}
	train, rest := gather.Apart(examples, p.Scene)
	log.Printf("%d scenes, %d %s to fit, %d to check", n, len(train), p.What, len(rest))
	net := p.Fit(train, p.Settings, rand.New(rand.NewPCG(seed, p.Stream)))
	p.Report(net, rest)
	return descent.Write(out, net.Model(p.Features, fmt.Sprintf("on %d rendered tuning scenes, %d %s, seed %d, %d hidden units, %d passes",
		n, len(train), p.What, seed, p.Settings.Hidden, p.Settings.Epochs)))
}
