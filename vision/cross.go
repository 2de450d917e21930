package vision

import (
	"math"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// Limits of crossings and of ends that lie against a side, on slender pieces.
const (
	crossTurn    = 0.40 // radians that the outline turns inward at a crossing, at least
	mostHollows  = 18   // of an outline whose crossings are looked for
	mostAcrossMM = 10.0 // side of the area where two pieces cross
	mostBaseMM   = 7.0  // width of an arm at its base
	straightOn   = 0.60 // radians by which a side may turn where it passes under another piece
	mostBent     = 1.40 // and one of the four sides
	armsPerBase  = 0.6  // an arm is at least this many times as long as its base is wide
	stemsPerBase = 2.2  // and so is a straw whose end lies against another's side
)

// crossing parts two slender pieces that lie across each other. Around the crossing the outline has
// four hollows h1..h4; the arms between them belong in opposite pairs to one piece: its outline runs
// along one arm, straight on across the crossing, and along the opposite arm.
func (s *splitter) crossing(p part, line []result.XY, index []int) (a, b part, ok bool) {
	turn := turning(line, 1.1*s.pxPerMM)
	hollows := hollowsOf(turn)
	if len(hollows) < 4 || len(hollows) > mostHollows {
		return a, b, false
	}
	run := arcLengths(line)
	best := 4 * straightOn
	n := len(hollows)
	for i := range n {
		for j := i + 1; j < n; j++ {
			for k := j + 1; k < n; k++ {
				for l := k + 1; l < n; l++ {
					h := [4]int{hollows[i], hollows[j], hollows[k], hollows[l]}
					if cost := s.crossCost(line, run, turn, h); cost < best {
						x, y := uncross(p, [4]int{index[h[0]], index[h[1]], index[h[2]], index[h[3]]})
						if s.slender(x) && s.slender(y) {
							a, b, best, ok = x, y, cost, true
						}
					}
				}
			}
		}
	}
	return a, b, ok
}

// hollowsOf lists the points where the outline turns inward most.
func hollowsOf(turn []float64) []int {
	var out []int
	for i, t := range turn {
		if t < -crossTurn && isHollowest(turn, i) && (len(out) == 0 || i-out[len(out)-1] > 2) {
			out = append(out, i)
		}
	}
	return out
}

// crossCost is the total turn of the four sides that run through the crossing; infinite where the
// hollows are no crossing.
func (s *splitter) crossCost(line []result.XY, run, turn []float64, h [4]int) float64 {
	total := run[len(line)]
	var base [4]float64
	for k := range h {
		a, b := h[k], h[(k+1)%4]
		base[k] = dist(line[a], line[b])
		arc := run[b] - run[a]
		if arc < 0 {
			arc += total
		}
		if base[k] > mostAcrossMM*s.pxPerMM || arc < 2*armsPerBase*base[k] {
			return math.Inf(1)
		}
	}
	for k := range 2 { // a parallelogram, about
		if r := base[k] / math.Max(base[k+2], 1e-9); r < 0.45 || r > 2.2 {
			return math.Inf(1)
		}
	}
	cost, bent := 0.0, 0
	for k := range h {
		i, j := h[(k+1)%4], h[(k+2)%4]
		t := s.sideTurn(line, i, j, s.straight(line, turn, i, -1), s.straight(line, turn, j, 1))
		if t > straightOn { // at one corner, a short or oblique end may mislead
			bent++
		}
		if t > mostBent || bent > 1 {
			return math.Inf(1)
		}
		cost += t
	}
	return cost
}

// sideTurn is how much a side turns that arrives at point i, runs straight to point j and goes on:
// the larger of the turns at both ends against the whole, in radians. before and after are the lengths over which the
// side is straight; an end of no length says nothing.
func (s *splitter) sideTurn(line []result.XY, i, j int, before, after float64) float64 {
	from, to := line[i], line[j]
	if before > 0 {
		from = walk(line, i, -1, before)
	}
	if after > 0 {
		to = walk(line, j, 1, after)
	}
	through := angleOf(from, to)
	turn := 0.0
	// The hollow itself is rounded: directions are taken a little off it.
	if before > 0 {
		turn = math.Abs(angleBetween(angleOf(from, walk(line, i, -1, math.Min(0.5*s.pxPerMM, 0.3*before))), through))
	}
	if after > 0 {
		turn = math.Max(turn, math.Abs(angleBetween(angleOf(walk(line, j, 1, math.Min(0.5*s.pxPerMM, 0.3*after)), to), through)))
	}
	return turn
}

// sideReach is how far a side is followed, mm.
const (
	sideReach     = 2.6
	leastStraight = 0.8
	atCorner      = 0.6 // radians that the outline bulges
)

// straight is the distance from point i, in steps of dir, to the first corner, at most sideReach; 0 where it is too short
// to tell a direction.
func (s *splitter) straight(line []result.XY, turn []float64, i, dir int) float64 {
	n := len(line)
	d := 0.0
	for k := 1; k < n/2; k++ {
		j := ((i+dir*k)%n + n) % n
		d = dist(line[i], line[j])
		if d >= sideReach*s.pxPerMM || turn[j] > atCorner {
			break
		}
	}
	if d < leastStraight*s.pxPerMM {
		return 0
	}
	return math.Min(0.9*d, sideReach*s.pxPerMM)
}

// walk goes along the closed line from i in steps of dir until it is reach away.
func walk(line []result.XY, i, dir int, reach float64) result.XY {
	n := len(line)
	for k := 1; k < n/2; k++ {
		if q := line[((i+dir*k)%n+n)%n]; dist(q, line[i]) >= reach {
			return q
		}
	}
	return line[((i+dir*(n/2))%n+n)%n]
}

func angleOf(a, b result.XY) float64 { return math.Atan2(b[1]-a[1], b[0]-a[0]) }

func angleBetween(a, b float64) float64 { return math.Remainder(a-b, 2*math.Pi) }

// uncross joins the arms between h1 and h2 and between h3 and h4 to one piece, the others to another.
func uncross(p part, h [4]int) (a, b part) {
	return joined(p, h[0], h[1], h[2], h[3]), joined(p, h[1], h[2], h[3], h[0])
}

// joined is the outline along the arcs a..b and c..d, with straight sides b-c and d-a.
func joined(p part, a, b, c, d int) part {
	out := part{crossed: true}
	out.addArc(p, a, b)
	out.addSide(p.outline[c])
	out.addArc(p, c, d)
	out.addSide(p.outline[a])
	return out
}

func (q *part) addArc(p part, a, b int) {
	n := len(p.outline)
	for i := a; ; i = (i + 1) % n {
		q.outline, q.joint = append(q.outline, p.outline[i]), append(q.joint, p.joint[i])
		if i == b {
			return
		}
	}
}

// addSide runs straight from the last point to the given one, which is not added.
func (q *part) addSide(to result.XY) {
	from := q.outline[len(q.outline)-1]
	q.joint[len(q.joint)-1] = true
	for k, steps := 1, int(dist(from, to)); k < steps; k++ {
		t := float64(k) / float64(steps)
		q.outline = append(q.outline, result.XY{from[0] + t*(to[0]-from[0]), from[1] + t*(to[1]-from[1])})
		q.joint = append(q.joint, true)
	}
}

// slender tells whether the outline is that of a straw: long against its mean width.
func (s *splitter) slender(p part) bool {
	length, thick := proportions(p)
	return bigEnough(p, s.minArea) && length > 2*thick
}

// butting parts a straw whose end lies against the side of another piece: two hollows as far apart
// as the straw is wide, with the other piece's side straight on across them.
func (s *splitter) butting(p part, line []result.XY, index []int) (a, b part, ok bool) {
	turn := turning(line, 1.1*s.pxPerMM)
	hollows := hollowsOf(turn)
	run := arcLengths(line)
	total := run[len(line)]
	best := straightOn
	for _, i := range hollows {
		for _, j := range hollows {
			arc := run[j] - run[i]
			if arc < 0 {
				arc += total
			}
			base := dist(line[i], line[j])
			if i == j || base > mostBaseMM*s.pxPerMM || arc < 2*stemsPerBase*base || total-arc < 2*stemsPerBase*base {
				continue
			}
			// The stem runs from i to j along the outline; the other side passes from i's back to j's front.
			if t := s.sideTurn(line, i, j, sideReach*s.pxPerMM, sideReach*s.pxPerMM); t < best && s.inside(line[i], line[j]) {
				x, y := divide(p, index[i], index[j])
				if s.slender(stem(x, y, index[i], index[j])) && bigEnough(x, s.minArea) && bigEnough(y, s.minArea) {
					a, b, best, ok = x, y, t, true
				}
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

func bigEnough(p part, area float64) bool { return math.Abs(shape.Area(p.outline)) >= area }
