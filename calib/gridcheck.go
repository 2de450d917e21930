package calib

import (
	"math"

	"gristmark/internal/result"
)

// Limits of the count of lines held against itself, and the places that are looked at.
const (
	checkedLines  = 14   // of each family, next to each other
	checkedPlaces = 7    // along each
	fewestPlaces  = 5    // along a line, for it to count
	deadLine      = 0.15 // of its places at which a line shows: no more, and it is not there
	mostDead      = 0.25 // of lines that are not there: of 150 drawn grids none had more than 0.16, of uneven lines 0.3 to 0.6
)

// gridCheck counts lines next to each other, and those of them that show nowhere.
type gridCheck struct{ lines, dead int }

// uneven reports whether too many lines are not there: those found lie at other distances.
func (c gridCheck) uneven() bool { return float64(c.dead) > mostDead*float64(c.lines) }

// check reads neighbouring lines all along.
func (g *gridFit) check(p *picture, pitch float64, lens Lens) (out gridCheck) {
	q := &Plane{fit: g.fit, lens: lens, unitMM: 1}
	for axis := range 2 {
		along := g.middleOf(q, p, pitch, 1-axis, math.MaxInt32)
		every := max(1, len(along)/checkedPlaces)
		for n, i := range g.middleOf(q, p, pitch, axis, checkedLines) {
			tried, hits := 0, 0
			for k := n % every; k < len(along); k += every {
				sign, ok := g.look(p, q, pitch, axis, float64(i), float64(along[k])+0.5)
				if !ok {
					continue
				}
				tried++
				if sign == g.sign {
					hits++
				}
			}
			if tried < fewestPlaces {
				continue
			}
			out.lines++
			if float64(hits) <= deadLine*float64(tried) {
				out.dead++
			}
		}
	}
	return out
}

// middleOf numbers at most so many lines, or the cells beside them, next to each other in the middle of the extent.
func (g *gridFit) middleOf(q *Plane, p *picture, pitch float64, axis, most int) (out []int) {
	lo, hi := bounds(q, p)
	a := int(math.Ceil(max(lo[axis], g.extent.lo[axis]) / pitch))
	b := int(math.Floor(min(hi[axis], g.extent.hi[axis]) / pitch))
	if n := b - a + 1; n > most {
		a += (n - most) / 2
		b = a + most - 1
	}
	for i := a; i <= b; i++ {
		out = append(out, i)
	}
	return out
}

// look reads across a line of a family, i pitches along one axis and j along the other: 1 for a light line, -1 for a
// dark one, 0 for none; ok is false outside the photo.
func (g *gridFit) look(p *picture, q *Plane, pitch float64, axis int, i, j float64) (sign int, ok bool) {
	mm, dir, out := result.XY{i * pitch, j * pitch}, result.XY{0, 1}, result.XY{1, 0}
	if axis == 1 {
		mm, dir, out = result.XY{mm[1], mm[0]}, out, dir
	}
	px := q.ToPx(mm)
	if !p.wellShows(px) {
		return 0, false
	}
	s, found := p.strokeAt(q, mm, dir, out, 0.25*pitch, min(12, 0.3*pitch/g.fit.mmPerPx(q.lens.ideal(px))))
	switch {
	case !found || s.edge:
		return 0, s.near >= 0
	case s.height < 0:
		return -1, true
	}
	return 1, true
}
