package estimate

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gristmark/internal/result"
)

// piece is what the estimates need of a particle. Lengths mm, area mm2.
type piece struct {
	pWhole, pBroken, pStover float64
	class                    result.Class
	length, width, area      float64
	weight                   float64 // Miles-Lantuejoul weight over the shots of its spread
	sized                    bool    // not cut by an edge, its sizes are numbers
}

// spread is one spreading of the sample on the tray, seen by one or more shots.
type spread struct {
	shots   int
	pieces  []piece
	scaleSD float64 // relative
}

// gather makes one spread of each photo, and of shots of one spread together. Refused photos and second copies are left out.
func gather(photos []result.Photo) []spread {
	root, at, out := roots(photos), map[string]int{}, []spread(nil)
	for _, p := range photos {
		if p.Status != result.Measured || p.DuplicateOf != "" {
			continue
		}
		name := root(p)
		i, seen := at[name]
		if !seen || name == "" {
			i = len(out)
			at[name] = i
			out = append(out, spread{})
		}
		s := &out[i]
		s.shots++
		if p.Scale != nil && p.Scale.RelativeSD > s.scaleSD && p.Scale.RelativeSD < 1 {
			s.scaleSD = p.Scale.RelativeSD
		}
		s.pieces = append(s.pieces, piecesOf(p)...)
	}
	for i := range out {
		for j := range out[i].pieces {
			out[i].pieces[j].weight /= float64(out[i].shots)
		}
		slices.SortFunc(out[i].pieces, piece.compare)
	}
	slices.SortStableFunc(out, func(a, b spread) int { return slices.CompareFunc(a.pieces, b.pieces, piece.compare) })
	return out
}

// compare orders pieces, so that no estimate hangs on the order in which particles or photos came.
func (p piece) compare(q piece) int {
	return cmp.Or(cmp.Compare(p.area, q.area), cmp.Compare(p.length, q.length), cmp.Compare(p.width, q.width),
		cmp.Compare(p.weight, q.weight), cmp.Compare(p.pWhole, q.pWhole), cmp.Compare(p.pBroken, q.pBroken), cmp.Compare(p.class, q.class))
}

// roots tells of each photo the file that its spread was first seen in.
func roots(photos []result.Photo) func(result.Photo) string {
	parent := map[string]string{}
	for _, p := range photos {
		if other := p.SameSpreadAs + p.DuplicateOf; other != "" && (p.SameSpreadAs == "" || p.DuplicateOf == "") && other != p.File {
			parent[p.File] = other
		}
	}
	return func(p result.Photo) string {
		name := p.File
		for range photos {
			up, ok := parent[name]
			if !ok {
				break
			}
			name = up
		}
		return name
	}
}

// piecesOf takes over the particles that count.
func piecesOf(p result.Photo) []piece {
	whole := wholeFieldInView(p)
	out := make([]piece, 0, len(p.Particles))
	for _, q := range p.Particles {
		if q.CutByEdge && !whole {
			continue
		}
		one := piece{class: q.Class, length: q.LengthMM, width: q.WidthMM, area: q.AreaMM2, weight: weightOf(q)}
		one.pWhole, one.pBroken, one.pStover = classes(q)
		one.sized = !q.CutByEdge && positive(q.LengthMM) && positive(q.WidthMM) && positive(q.AreaMM2)
		out = append(out, one)
	}
	return out
}

// wholeFieldInView is told by the weights: all are 1 unless the photo's frame truncates the field.
func wholeFieldInView(p result.Photo) bool {
	for _, q := range p.Particles {
		if weightOf(q) > 1+1e-6 {
			return false
		}
	}
	return true
}

func weightOf(q result.Particle) float64 {
	if positive(q.Weight) {
		return q.Weight
	}
	return 1
}

// classes are the three probabilities, made to sum to 1; where none is given the named class has them.
func classes(q result.Particle) (whole, broken, stover float64) {
	if sum := q.PWhole + q.PBroken + q.PStover; positive(sum) && min(q.PWhole, q.PBroken, q.PStover) >= 0 {
		return q.PWhole / sum, q.PBroken / sum, q.PStover / sum
	}
	switch q.Class {
	case result.WholeKernel:
		return 1, 0, 0
	case result.BrokenKernel:
		return 0, 1, 0
	case result.Stover:
		return 0, 0, 1
	}
	return 1. / 3, 1. / 3, 1. / 3
}

func positive(v float64) bool { return v > 0 && !math.IsInf(v, 1) }

// notes says what was pooled or left out.
func notes(photos []result.Photo, spreads []spread) []string {
	var out []string
	again, refused, shots := 0, 0, 0
	for _, p := range photos {
		switch {
		case p.Status != result.Measured:
			refused++
		case p.DuplicateOf != "":
			again++
		default:
			shots++
		}
	}
	if again > 0 {
		out = append(out, fmt.Sprintf("%d photo(s) are copies of a file given before and were counted once", again))
	}
	if shots > len(spreads) {
		out = append(out, fmt.Sprintf("%d photos show %d spread(s): shots of one spread were pooled as one photo", shots, len(spreads)))
	}
	if refused > 0 {
		out = append(out, fmt.Sprintf("%d photo(s) were refused and count for nothing", refused))
	}
	switch len(spreads) {
	case 1:
		out = append(out, "one spread only: the intervals do not know how handfuls of this lot differ; photograph two more")
	case 2:
		out = append(out, "two spreads only: they say little about how handfuls of this lot differ, so the intervals are wide; a third narrows them")
	}
	return out
}
