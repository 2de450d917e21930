package plots

import (
	"math"

	"gristmark/internal/result"
)

// counted calls do for each particle that counts in the sizes, with its weight: that for being in view over the number
// of shots of its spread. Refused photos, copies, and particles cut by an edge are left out.
func counted(photos []result.Photo, do func(p result.Particle, weight float64)) {
	first := map[string]string{}
	shots := map[string]float64{}
	root := func(file string) string {
		for range photos {
			if up := first[file]; up != "" && up != file {
				file = up
			}
		}
		return file
	}
	counts := func(p result.Photo) bool { return p.Status == result.Measured && p.DuplicateOf == "" }
	for _, p := range photos {
		first[p.File] = p.SameSpreadAs
	}
	for _, p := range photos {
		if counts(p) {
			shots[root(p.File)]++
		}
	}
	for _, p := range photos {
		if !counts(p) {
			continue
		}
		for _, q := range p.Particles {
			if !q.CutByEdge && positive(q.LengthMM) && positive(q.WidthMM) && positive(q.AreaMM2) {
				do(q, max(1, q.Weight)/shots[root(p.File)])
			}
		}
	}
}

func positive(v float64) bool { return v > 0 && !math.IsInf(v, 1) }
