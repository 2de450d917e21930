package score

import (
	"math"

	"gristmark/internal/result"
)

// Pieces that lost 3 to 8 % of their own unbroken outline lie so near to the line of 95 % that no photo tells their side; they are counted apart.
const (
	NickedFrom = 0.92 // share of the own outline that is left
	NickedTo   = 0.97
)

// Tally is how many pieces of a class a scene holds and how many were expected there, the sum of the found pieces' probabilities of it.
type Tally struct{ True, Expected float64 }

// Within reports whether the expected number is within 3 % of the true one or within 1, whichever is larger.
func (t Tally) Within() bool { return math.Abs(t.Expected-t.True) <= math.Max(0.03*t.True, 1)+1e-9 }

// ErrorPct is expected less true in percent of true; NaN where there are none.
func (t Tally) ErrorPct() float64 {
	if t.True == 0 {
		return math.NaN()
	}
	return 100 * (t.Expected/t.True - 1)
}

// Add sums tallies.
func (t *Tally) Add(o Tally) { t.True += o.True; t.Expected += o.Expected }

// Grains are the whole and the broken kernels of one scene.
type Grains struct {
	Whole, Broken Tally // nicked ones left out

	NickedWhole, NickedBroken Tally // of the nicked ones; expected is over all of them that were found
}

// All are the tallies with the nicked pieces counted in: what the sample's numbers rest on.
func (g Grains) All() (whole, broken Tally) {
	whole, broken = g.Whole, g.Broken
	whole.Add(g.NickedWhole)
	broken.Add(g.NickedBroken)
	return whole, broken
}

// countGrains counts the kernel pieces of a scene; those that the frame cuts, or that are too small to count, count for nothing, found or not. False
// where the scene has no kernel piece.
func countGrains(truths []Thing, finds []Found, pairs []Pair) (g Grains, ok bool) {
	truthOf := make([]int, len(finds))
	for i := range truthOf {
		truthOf[i] = -1
	}
	for _, p := range pairs {
		truthOf[p.Find] = p.Truth
	}
	for _, t := range truths {
		if t.Small || t.Cut || !t.Class.IsKernel() {
			continue
		}
		ok = true
		whole, broken := g.of(t)
		if t.Class == result.WholeKernel {
			whole.True++
		} else {
			broken.True++
		}
	}
	for i, f := range finds {
		var t Thing // an extra belongs to none
		if truthOf[i] >= 0 {
			t = truths[truthOf[i]]
		} else if f.CutByEdge || onSmall(truths, f) {
			continue
		}
		if t.Small || t.Cut {
			continue
		}
		whole, broken := g.of(t)
		pWhole, pBroken := chances(f.Particle)
		whole.Expected += pWhole
		broken.Expected += pBroken
	}
	return g, ok
}

// of are the tallies that a thing belongs to.
func (g *Grains) of(t Thing) (whole, broken *Tally) {
	if t.nicked() {
		return &g.NickedWhole, &g.NickedBroken
	}
	return &g.Whole, &g.Broken
}

func (t Thing) nicked() bool {
	return t.Class.IsKernel() && t.Kept != nil && *t.Kept >= NickedFrom && *t.Kept <= NickedTo
}

// chances are the probabilities of whole and of broken; where none is given the named class has them.
func chances(p result.Particle) (whole, broken float64) {
	if sum := p.PWhole + p.PBroken + p.PStover; sum > 0 {
		return p.PWhole / sum, p.PBroken / sum
	}
	switch p.Class {
	case result.WholeKernel:
		return 1, 0
	case result.BrokenKernel:
		return 0, 1
	}
	return 0, 0
}
