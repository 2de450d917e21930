package vision

import "gristmark/internal/result"

// Limits of a straw whose end lies against the side of another piece.
const (
	buttTurn     = 0.40 // radians that the outline turns inward on both sides of the end, at least
	mostBaseMM   = 7.0  // width of the straw at its end
	leastStem    = 1.0  // times its width at the end that the straw reaches out
	buttedSideMM = 0.15 // root mean square distance of the other piece's side from a straight line, at most
	buttGain     = 0.50 // area of hull saved over the smaller piece's
)

// butting parts a straw whose end lies against the side of another piece: two hollows as far apart
// as the straw is wide, with the other piece's side straight on across them.
func (s *splitter) butting(p part, whole hollowness, line []result.XY, index []int) (a, b part, ok bool) {
	along := sides{line, turning(line, turnArmMM*s.pxPerMM), s.pxPerMM}
	hollows := hollowsOf(along.turn, buttTurn)
	if len(hollows) < 2 || s.kernelIn(p.outline) >= mostKernel {
		return a, b, false
	}
	best := buttedSideMM
	for _, i := range hollows {
		for _, j := range hollows {
			base := dist(line[i], line[j]) / s.pxPerMM
			if i == j || base > mostBaseMM || along.reachMM(i, j) < leastStem*base {
				continue
			}
			// The stem runs from i to j along the outline; the other side passes from i's back to j's front.
			off := along.offMM(side{from: j, last: i, next: j, to: i})
			if off >= best || !s.inside(line[i], line[j]) {
				continue
			}
			x, y := divide(p, index[i], index[j])
			if s.slender(stem(x, y, index[i], index[j])) && bigEnough(x, s.minArea) && bigEnough(y, s.minArea) &&
				whole.hull-hullOfBoth(p, x, y) > buttGain*min(areaOf(x), areaOf(y)) && !s.kernels(x, y) {
				a, b, best, ok = x, y, off, true
			}
		}
	}
	return a, b, ok
}

// stem is the part of a division that holds the arc from i to j.
func stem(x, y part, i, j int) part {
	if i < j {
		return x
	}
	return y
}
