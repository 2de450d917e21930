package gather

import (
	"gristmark/internal/result"
	"gristmark/internal/scene"
	"gristmark/vision"
	"gristmark/vision/shape"
)

// Pairing is a find with what it truly is.
type Pairing struct {
	Find  int          // index of the particle
	Thing *scene.Thing // nil: nothing of the crop
}

// Kept is the share of its own outline that a kernel keeps; 0 for what is none.
func (p Pairing) Kept() float64 {
	if p.Thing == nil || p.Thing.KeptShare == nil {
		return 0
	}
	return *p.Thing.KeptShare
}

// Pair joins what was found to the thing that holds its centroid and has about its area. Finds that are neither one thing nor nothing of the crop
// are left out, and kernels that the frame cuts: they look broken.
func Pair(a *vision.Analysis, t scene.Truth) (out []Pairing) {
	for i, p := range a.Particles {
		if nothing(p, t) {
			out = append(out, Pairing{Find: i})
			continue
		}
		if g, ok := ThingOf(p, t.Things, func(g scene.Thing) bool { return !p.CutByEdge || g.Class == result.Stover }); ok {
			out = append(out, Pairing{i, &g})
		}
	}
	return out
}

// ClassOf is the thing's place among what the models name: 0 whole kernel, 1 broken, 2 stover, 3 nothing of the crop.
func (p Pairing) ClassOf() int {
	switch {
	case p.Thing == nil:
		return 3
	case p.Thing.Class == result.WholeKernel:
		return 0
	case p.Thing.Class == result.BrokenKernel:
		return 1
	}
	return 2
}

// nothing tells whether a piece that was found has nothing to do with any true one.
func nothing(p result.Particle, t scene.Truth) bool {
	for _, g := range t.Things {
		if shape.Contains(g.OutlinePx, p.AtPx) || shape.Contains(p.OutlinePx, g.AtPx) {
			return false
		}
		for k := 0; k < len(p.OutlinePx); k += 4 {
			if shape.Contains(g.OutlinePx, p.OutlinePx[k]) {
				return false
			}
		}
	}
	return true
}
