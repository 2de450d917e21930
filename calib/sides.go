package calib

import (
	"math"
	"slices"

	"gristmark/internal/result"
)

// sideReading tells what the photo holds of the four sides.
type sideReading struct {
	inside [4]int  // places of each side that lie in the photo
	absent float64 // largest share of a side's places that is not there though nothing covers it
}

// leastInside is the number of places inside the photo, of the side that has fewest.
func (r *sideReading) leastInside() float64 { return float64(slices.Min(r.inside[:])) }

// readSides measures thin lines or steps along the four sides, whichever most of them are.
func readSides(p *picture, spec Spec, lens Lens, v view, reach float64, samples int) (kept []observation, sides sideReading) {
	q := Plane{fit: fitted{view: v}, lens: lens, unitMM: 1}
	w, h := spec.WidthMM, spec.HeightMM
	corners := [4]result.XY{{0, 0}, {w, 0}, {w, h}, {0, h}}
	scale := v.middleScale(p)
	kinds := map[[2]bool]int{} // step or line, and its sign
	var all []observation
	var kind [][2]bool
	var seen []stroke
	var shown, missing [4][]stroke
	for k := range 4 {
		a, b := corners[k], corners[(k+1)%4]
		dir, length := unit(sub(b, a)), dist(a, b)
		out := result.XY{dir[1], -dir[0]}
		for i := range samples {
			mm := add(a, dir, length*(0.02+0.96*(float64(i)+0.5)/float64(samples)))
			if !p.shows(q.ToPx(mm)) {
				continue
			}
			sides.inside[k]++
			s, ok := p.strokeAt(&q, mm, dir, out, 0.5*length/sideSamples, reach)
			if !ok {
				missing[k] = append(missing[k], s)
				continue
			}
			seen = append(seen, s)
			kind = append(kind, [2]bool{s.edge, s.height > 0})
			kinds[kind[len(kind)-1]]++
			all = append(all, observation{px: lens.ideal(s.at), mm: a, dir: dir, out: out, sd: math.Hypot(0.15, paperMM/scale), mark: k})
		}
	}
	var most [2]bool
	for k, n := range kinds {
		if n > kinds[most] {
			most = k
		}
	}
	opposite := [2]bool{most[0], !most[1]}
	if most[0] && float64(kinds[opposite]) > maxOpposite*float64(kinds[most]) {
		return nil, sides // light and dark change sides along it: the squares of a board
	}
	for i, s := range seen {
		if k := all[i].mark; kind[i] == most {
			shown[k] = append(shown[k], s)
		} else {
			missing[k] = append(missing[k], s)
		}
	}
	for k := range shown {
		sides.absent = max(sides.absent, bare(shown[k], missing[k], sides.inside[k]))
	}
	kept = all[:0]
	for i, o := range all {
		if kind[i] != most {
			continue
		}
		if most[0] { // a sheet lighter than the table spreads as light, not as ink
			o.spread = 1
			if !most[1] {
				o.spread = -1
			}
		}
		kept = append(kept, o)
	}
	return kept, sides
}

// bare is the share of a side's places inside the photo where it is missing, yet what shows there is one of its two sides or both
// changed over: an edge of something smaller, or the squares of a board, and nothing that lies on the side.
func bare(shown, missing []stroke, inside int) float64 {
	var near, far []float64
	for _, s := range shown {
		near, far = append(near, s.near), append(far, s.far)
	}
	n, f := median(near), median(far)
	count := 0
	for _, s := range missing {
		within := bareShare * math.Max(math.Abs(n-f), bareShare*math.Max(n, f))
		alike := func(near, far float64) bool {
			return math.Abs(s.near-near) < within && math.Abs(s.far-far) < within
		}
		if alike(n, n) || alike(f, f) || alike(f, n) {
			count++
		}
	}
	return float64(count) / float64(max(1, inside))
}

// strokeAt looks across a line of the plane at a point of it.
func (p *picture) strokeAt(q *Plane, mm, dir, out result.XY, halfMM, reach float64) (stroke, bool) {
	at := q.ToPx(mm)
	along := q.ToPx(add(mm, dir, halfMM))
	across := q.ToPx(add(mm, out, halfMM))
	tangent := unit(sub(along, at))
	n := result.XY{-tangent[1], tangent[0]}
	if dot(n, sub(across, at)) < 0 {
		n = result.XY{-n[0], -n[1]}
	}
	return p.findStroke(at, tangent, n, 2*dist(along, at), reach)
}
