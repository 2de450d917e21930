package pipeline

import (
	"cmp"
	"math"
	"slices"

	"gristmark/internal/result"
)

// How alike two photos must be to show one spread. Two independent spreads of 500 pieces on an A4
// sheet agree by chance in a tenth to a fifth of their pieces, so a half is far from chance, and two shots of
// one spread agree in nearly all.
const (
	spreadReachMM   = 3.0  // two shots place a piece this close: 1 % of scale over 200 mm, and parallax
	spreadAreaRatio = 1.35 // the areas of one piece in two shots differ by less
	spreadAgree     = 0.55 // share of the pieces in the common part that must match
	spreadOverlap   = 0.35 // share of the smaller photo's pieces that must match
	spreadLeast     = 6    // matches; with fewer pieces nothing can be told
	spreadSeeds     = 40   // largest pieces that hypotheses are drawn from
	spreadTries     = 3000 // hypotheses; of two shots of one spread every tenth or so is right
	spreadPieces    = 250  // largest pieces that are compared
)

// spot is a piece on the tray plane.
type spot struct {
	at   result.XY // centroid of the outline seen from straight above, mm
	area float64   // mm²
}

// markSpreads marks the photos that show the pieces of an earlier photo in the same places, moved as
// a whole at most: a second shot of one spread.
func markSpreads(frames []*Frame) {
	spots := make([][]spot, len(frames))
	for j, f := range frames {
		f.Photo.SameSpreadAs = ""
		if f.Photo.Status != result.Measured || f.Photo.DuplicateOf != "" {
			continue
		}
		spots[j] = spotsOf(f)
		for i := range j {
			earlier := &frames[i].Photo
			if spots[i] != nil && earlier.SameSpreadAs == "" && sameSpread(spots[i], spots[j]) {
				f.Photo.SameSpreadAs = earlier.File
				break
			}
		}
	}
}

// spotsOf lists the pieces seen whole, largest first.
func spotsOf(f *Frame) []spot {
	if f.spots != nil {
		return f.spots
	}
	spots := []spot{}
	for i, p := range f.Photo.Particles {
		if p.CutByEdge || i >= len(f.OutlineMM) || len(f.OutlineMM[i]) < 3 {
			continue
		}
		spots = append(spots, spot{centroid(f.OutlineMM[i]), p.AreaMM2})
	}
	slices.SortStableFunc(spots, func(a, b spot) int { return cmp.Compare(b.area, a.area) })
	return spots[:min(len(spots), spreadPieces)]
}

// centroid of the polygon's area.
func centroid(poly []result.XY) result.XY {
	var a, x, y float64
	o := poly[0] // near the polygon, so that nothing cancels
	for i, p := range poly {
		q := poly[(i+1)%len(poly)]
		c := (p[0]-o[0])*(q[1]-o[1]) - (q[0]-o[0])*(p[1]-o[1])
		a += c
		x += c * (p[0] + q[0] - 2*o[0])
		y += c * (p[1] + q[1] - 2*o[1])
	}
	if a == 0 {
		return o
	}
	return result.XY{o[0] + x/(3*a), o[1] + y/(3*a)}
}

// sameSpread looks for a rigid motion that lays most of one photo's pieces onto the other's.
func sameSpread(a, b []spot) bool {
	least := max(spreadLeast, int(math.Ceil(spreadOverlap*float64(min(len(a), len(b))))))
	if min(len(a), len(b)) < least {
		return false
	}
	grid := newSpotGrid(b)
	found, tries := false, 0
	eachMotion(a, b, func(m motion) bool {
		if tries++; tries > spreadTries {
			return false
		}
		largest := a[:min(len(a), spreadSeeds)]
		if !grid.agree(largest, m, 2+len(largest)/6) {
			return true
		}
		pairs := grid.matches(a, m)
		m = fitMotion(a, b, pairs)
		pairs = grid.matches(a, m)
		common := min(inside(a, b, m), inside(b, a, m.inverse()))
		found = len(pairs) >= least && float64(len(pairs)) >= spreadAgree*float64(common)
		return !found
	})
	return found
}

// eachMotion proposes the motions that carry two pieces of a onto two of b, until yield returns false.
func eachMotion(a, b []spot, yield func(motion) bool) {
	const shortest = 25.0 // mm between the two, so that the angle is known
	type pair struct {
		i, j int
		d    float64
	}
	pairs := func(s []spot, both bool) (out []pair) {
		s = s[:min(len(s), spreadSeeds)]
		for i := range s {
			for j := range s {
				d := math.Hypot(s[i].at[0]-s[j].at[0], s[i].at[1]-s[j].at[1])
				if (i < j || both && i != j) && d >= shortest {
					out = append(out, pair{i, j, d})
				}
			}
		}
		slices.SortStableFunc(out, func(p, q pair) int { return cmp.Compare(p.d, q.d) })
		return out
	}
	of := pairs(b, true)
	for _, p := range pairs(a, false) {
		slack := 1.5 + 0.01*p.d
		from, _ := slices.BinarySearchFunc(of, p.d-slack, func(q pair, d float64) int { return cmp.Compare(q.d, d) })
		for _, q := range of[from:] {
			if q.d > p.d+slack {
				break
			}
			if alike(a[p.i], b[q.i]) && alike(a[p.j], b[q.j]) && !yield(motionOf(a[p.i].at, a[p.j].at, b[q.i].at, b[q.j].at)) {
				return
			}
		}
	}
}

func alike(a, b spot) bool {
	return a.area < spreadAreaRatio*b.area && b.area < spreadAreaRatio*a.area
}

// inside counts the pieces of a that the motion carries into the box around b.
func inside(a, b []spot, m motion) int {
	low, high := b[0].at, b[0].at
	for _, s := range b {
		for k := range 2 {
			low[k], high[k] = min(low[k], s.at[k]), max(high[k], s.at[k])
		}
	}
	n := 0
	for _, s := range a {
		p := m.apply(s.at)
		if p[0] >= low[0] && p[0] <= high[0] && p[1] >= low[1] && p[1] <= high[1] {
			n++
		}
	}
	return n
}
