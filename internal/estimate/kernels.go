package estimate

import (
	"math"

	"gristmark/internal/result"
)

// Fewest effective particles from which a figure is given: one for a share by count, whose variance is known, three
// where it must be seen.
const (
	fewestByCount = 0.5
	fewestBySize  = 3
)

// Basis says what the passing share is and is not.
const Basis = "estimated from outlines, not corrected to a laboratory"

func kernels(t *tallied, f [figures]figure, opt Options) *result.Kernels {
	u := t.model.kernel.Kernel
	out := &result.Kernels{SmallestMM: t.model.smallestMM, UnbrokenAreaMM2: u.AreaMM2, UnbrokenFrom: u.From, Basis: Basis}
	for _, s := range t.spreads {
		out.Whole += named(s, result.WholeKernel)
		out.Broken += named(s, result.BrokenKernel)
	}
	if opt.Show == ShowPieces {
		return out
	}
	out.WholePct = f[wholeShare].share(opt.Level, fewestByCount)
	out.Passing475Pct = f[passingShare].share(opt.Level, fewestBySize)
	return out
}

// named counts the pieces of a class in a spread; shots of one spread are averaged.
func named(s spread, class result.Class) int {
	n := 0
	for _, p := range s.pieces {
		if p.class == class {
			n++
		}
	}
	return int(math.Round(float64(n) / float64(s.shots)))
}
