package calib

import (
	"math"

	"gristmark/internal/result"
)

// gridRead is a place of a line of the grid that was looked at.
type gridRead struct {
	gridPlace
	stroke stroke
	sign   int // 1: a line lighter than its surroundings, -1: darker, 0: none
}

// spread is a box on the plane, mm.
type spread struct{ lo, hi result.XY }

func (s *spread) holds(mm result.XY) bool {
	return mm[0] >= s.lo[0] && mm[0] < s.hi[0] && mm[1] >= s.lo[1] && mm[1] < s.hi[1]
}

// extentOf is the part of the plane over which lines show, of the sign that most have: the photo may show more than
// the sheet that they are drawn on.
func extentOf(reads []gridRead, pitch float64, sign int) spread {
	inf := math.Inf(1)
	out := spread{result.XY{-inf, -inf}, result.XY{inf, inf}}
	for range 2 {
		for k := range 2 {
			out.lo[k], out.hi[k] = -inf, inf
			out.lo[k], out.hi[k] = interval(reads, pitch, sign, k, out)
		}
	}
	return out
}

// interval is where along an axis most more places show a line than minHits of them, within a box.
func interval(reads []gridRead, pitch float64, sign, axis int, in spread) (lo, hi float64) {
	score := map[int]float64{}
	first, last := math.MaxInt, math.MinInt
	for i := range reads {
		r := &reads[i]
		if !in.holds(r.mm) {
			continue
		}
		k := int(math.Floor(r.mm[axis] / pitch))
		first, last = min(first, k), max(last, k)
		if r.sign == sign {
			score[k]++
		}
		score[k] -= minHits
	}
	best, sum, from := math.Inf(-1), 0.0, first
	for k := first; k <= last; k++ {
		if sum <= 0 {
			sum, from = 0, k
		}
		if sum += score[k]; sum > best {
			best, lo, hi = sum, float64(from)*pitch, float64(k+1)*pitch
		}
	}
	return lo, hi
}
