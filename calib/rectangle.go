package calib

import (
	"math"
	"slices"

	"gristmark/internal/result"
)

// candidate is a quadrilateral that may be the rectangle.
type candidate struct {
	start   view
	cost    float64
	corners [4]result.XY // px, clockwise from any of them
}

// among reports whether others have the same corners within some px: measured, they would come out the same.
func (c candidate) among(others []candidate, within float64) bool {
	return slices.ContainsFunc(others, func(o candidate) bool {
		for turn := range 4 {
			worst := 0.0
			for k := range 4 {
				worst = max(worst, dist(c.corners[k], o.corners[(k+turn)%4]))
			}
			if worst < within {
				return true
			}
		}
		return false
	})
}

// rectangles lists quadrilaterals that a view of the rectangle explains, the likeliest first.
func rectangles(p picture, lines []longLine, diagonal float64, spec Spec, lens Lens, pr prior) []candidate {
	var out []candidate
	type opposite struct{ i, j int }
	var pairs []opposite
	for i := range lines {
		for j := i + 1; j < len(lines); j++ {
			if math.Abs(cross(lines[i].n, lines[j].n)) < 0.45 {
				pairs = append(pairs, opposite{i, j})
			}
		}
	}
	for a, x := range pairs {
		for _, y := range pairs[a+1:] {
			if math.Abs(cross(lines[x.i].n, lines[y.i].n)) < 0.6 {
				continue
			}
			corners, share, ok := quadrilateral(p, lines[x.i], lines[y.i], lines[x.j], lines[y.j], diagonal)
			if !ok {
				continue
			}
			if c, ok := explain(p, corners, spec, lens, pr); ok {
				c.cost += 20 * (1 - share)
				out = append(out, c)
			}
		}
	}
	slices.SortFunc(out, func(a, b candidate) int { return compare(a.cost, b.cost) })
	return out
}

// quadrilateral gives the corners of four sides in order, clockwise, and the smallest share of a side
// that shows.
func quadrilateral(p picture, a, b, c, d longLine, diagonal float64) (corners [4]result.XY, share float64, ok bool) {
	sides := [4]longLine{a, b, c, d}
	for i := range sides {
		q, ok := meet(sides[(i+3)%4].line, sides[i].line)
		if !ok {
			return corners, 0, false
		}
		corners[i] = q
	}
	share = 1
	for i := range sides {
		u, v := corners[i], corners[(i+1)%4]
		if dist(u, v) < minFrameShare*diagonal {
			return corners, 0, false
		}
		s := sides[i].shows(p, u, v)
		if s < roughSideShare {
			return corners, 0, false
		}
		share = min(share, s)
	}
	turn := cross(sub(corners[1], corners[0]), sub(corners[2], corners[1]))
	for i := range sides {
		if cross(sub(corners[(i+1)%4], corners[i]), sub(corners[(i+2)%4], corners[(i+1)%4]))*turn <= 0 {
			return corners, 0, false // not convex
		}
	}
	if turn < 0 {
		corners[1], corners[3] = corners[3], corners[1]
	}
	return corners, share, true
}

// explain fits a view to the corners, the rectangle lying or standing.
func explain(p picture, corners [4]result.XY, spec Spec, lens Lens, pr prior) (candidate, bool) {
	w, h := spec.WidthMM, spec.HeightMM
	model := [4]result.XY{{0, 0}, {w, 0}, {w, h}, {0, h}}
	best, found := candidate{}, false
	for turn := range 2 {
		pairs := make([]pair, 4)
		obs := make([]observation, 4)
		for i := range 4 {
			px := lens.ideal(corners[(i+turn)%4])
			pairs[i] = pair{model[i], px}
			obs[i] = observation{px: px, mm: model[i], sd: 4}
		}
		hom, ok := homography(pairs)
		if !ok {
			continue
		}
		start, ok := startView(hom, pr, p.width, p.height)
		if !ok {
			continue
		}
		if totalCost(&start, obs, pr) > hopelessCost {
			continue
		}
		f, ok := fit(start, obs, pr, roughly)
		if !ok || f.tiltDeg() > 50 {
			continue
		}
		if c := totalCost(&f.view, obs, pr); !found || c < best.cost {
			best, found = candidate{f.view, c, corners}, true
		}
	}
	return best, found && best.cost < 200
}
