package scene

import (
	"encoding/json"
	"math/rand/v2"
	"sync"
)

// lotSize pieces of each sort stand for the population.
var lotSize = 12000

type lotFacts struct {
	numbers Numbers
	kernel  KernelMM
}

var (
	lotMemory = map[string]Numbers{}
	lotLock   sync.Mutex
)

// factsOf draws a large population of the lot, with the code that draws the scenes, once a process.
func factsOf(lot Lot, kernels, stover bool) lotFacts {
	mean := meanUnbroken(&lot)
	f := lotFacts{kernel: KernelMM{LengthMM: lot.LengthMM, WidthMM: lot.WidthMM, ThicknessMM: lot.ThicknessMM, AreaMM2: rounded(mean, 3)}}
	lot.Hybrid, lot.Skin, lot.Mould, lot.Green, lot.Brown = "", nil, 0, 0, 0 // looks do not change sizes
	if kernels {
		f.numbers.Kernels = remembered(lot, 2, func(g *rand.Rand) *piece { return newKernelPiece(&lot, mean, g) }).Kernels
	}
	if stover {
		f.numbers.Pieces = remembered(lot, 3, func(g *rand.Rand) *piece { return newStover(&lot, g) }).Pieces
	}
	return f
}

func remembered(lot Lot, which uint64, draw func(g *rand.Rand) *piece) Numbers {
	key, err := json.Marshal(struct {
		L Lot
		W uint64
		N int
	}{lot, which, lotSize})
	if err != nil {
		panic("scene: " + err.Error()) // a struct of numbers always marshals
	}
	lotLock.Lock()
	defer lotLock.Unlock()
	n, ok := lotMemory[string(key)]
	if !ok {
		n = number(&lot, population(which, draw))
		lotMemory[string(key)] = n
	}
	return n
}

// population draws lotSize pieces in blocks, each block from its own stream.
func population(which uint64, draw func(g *rand.Rand) *piece) []*piece {
	out := make([]*piece, lotSize)
	const block = 100
	parallel(lotSize/block, func(b int) {
		g := stream(which<<32|uint64(b), streamLot)
		for i := 0; i < block; i++ {
			out[b*block+i] = draw(g)
		}
	})
	return out
}
