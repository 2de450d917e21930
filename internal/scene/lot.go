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
	lotMemory = map[string]lotFacts{}
	lotLock   sync.Mutex
)

// factsOf draws a large population of the lot, with the code that draws the scenes. The colour does not matter.
func factsOf(lot Lot, kernels, stover bool) lotFacts {
	key, err := json.Marshal(struct {
		L    Lot
		K, S bool
	}{lot, kernels, stover})
	if err != nil {
		panic("scene: " + err.Error()) // a struct of numbers always marshals
	}
	lotLock.Lock()
	defer lotLock.Unlock()
	if f, ok := lotMemory[string(key)]; ok {
		return f
	}
	f := drawFacts(lot, kernels, stover)
	lotMemory[string(key)] = f
	return f
}

func drawFacts(lot Lot, kernels, stover bool) lotFacts {
	mean := meanUnbroken(&lot)
	f := lotFacts{kernel: KernelMM{LengthMM: lot.LengthMM, WidthMM: lot.WidthMM, ThicknessMM: lot.ThicknessMM, AreaMM2: rounded(mean, 3)}}
	var pieces []*piece
	if kernels {
		pieces = append(pieces, population(2, func(g *rand.Rand) *piece { return newKernelPiece(&lot, mean, g) })...)
	}
	if stover {
		pieces = append(pieces, population(3, func(g *rand.Rand) *piece { return newStover(&lot, g) })...)
	}
	f.numbers = number(&lot, pieces)
	return f
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
