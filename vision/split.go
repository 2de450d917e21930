package vision

import (
	"math"
	"slices"

	"gristmark/internal/result"
)

// Limits of splitting: two pieces touch where the outline pinches to a neck that is narrow against
// what lies on both sides of it.
const (
	plainSolidity = 0.96 // no hollow worth a look above it
	turnArmMM     = 1.1  // of the outline on both sides of a point, over which its turn is taken
	slightTurn    = 0.30 // radians that the outline turns inward at a neck, at least
	cutLimit      = 0.5  // probability
	mostJudged    = 16   // necks of one part
	maxParts      = 60   // of one blob
)

// splitter parts blobs of touching pieces. Lengths are work px.
type splitter struct {
	depth   []float32 // distance of each mask pixel to the background
	w, h    int
	pxPerMM float64
	minArea float64 // of a part, px²
	cuts    *CutModel
	oracle  func(f []float64, a, b []result.XY) float64 // in place of cuts, while they are fitted
	smooth  int                                         // times that outlines are smoothed before hollows are looked for: noise frays them
	lab     *labImage                                   // colours; nil without
	contact *netMap                                     // what the network sees between pieces; nil without
}

// part is one piece's outline; joint marks the points that were cut rather than seen.
type part struct {
	outline []result.XY
	joint   []bool
	crossed bool // passes over or under another piece: the contact inside it is the other's
}

// split parts the outline at its necks, recursively, the narrowest first.
func (s *splitter) split(outline []result.XY) []part {
	todo := []part{{outline: outline, joint: make([]bool, len(outline))}}
	var done []part
	for len(todo) > 0 {
		p := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		if len(done)+len(todo) < maxParts {
			if a, b, ok := s.cut(p); ok {
				todo = append(todo, a, b)
				continue
			}
			if more := s.seamsOf(p); len(more) > 1 {
				todo = append(todo, more...)
				continue
			}
		}
		done = append(done, p)
	}
	return done
}

// seamsOf parts p by contacts inside it, unless another piece lies across it.
func (s *splitter) seamsOf(p part) []part {
	if p.crossed {
		return nil
	}
	return s.seams(p)
}

// cut parts p where slender pieces cross, else at the neck that is most likely one, else where a slender piece butts.
func (s *splitter) cut(p part) (a, b part, ok bool) {
	if len(p.outline) < 12 {
		return a, b, false
	}
	whole := hollownessOf(p)
	if whole.solidity > plainSolidity {
		return a, b, false
	}
	line, index := thin(smoothLoop(p.outline, s.smooth), math.Max(1, 0.22*s.pxPerMM))
	if a, b, ok = s.crossing(p, whole, line, index); ok { // before necks, which an oblique crossing has too
		return a, b, true
	}
	if a, b, ok = s.likeliest(p, whole, index, s.necks(line)); ok {
		return a, b, true
	}
	return s.butting(p, whole, line, index)
}

// likeliest divides p at the neck that most likely parts two pieces, if it does rather than not.
func (s *splitter) likeliest(p part, whole hollowness, index []int, necks []neck) (a, b part, ok bool) {
	best := cutLimit
	for _, c := range cheapest(necks) {
		x, y := divide(p, index[c.i], index[c.j])
		if !bigEnough(x, s.minArea) || !bigEnough(y, s.minArea) {
			continue
		}
		if v := s.judge(s.cutFeatures(whole, x, y, c), x, y); v > best {
			a, b, best, ok = x, y, v, true
		}
	}
	return a, b, ok
}

// cheapest are the mostJudged necks of least cost, in their order.
func cheapest(necks []neck) []neck {
	if len(necks) <= mostJudged {
		return necks
	}
	cost := make([]float64, len(necks))
	for i, n := range necks {
		cost[i] = n.cost
	}
	slices.Sort(cost)
	limit := cost[mostJudged-1]
	var out []neck
	for _, n := range necks {
		if n.cost <= limit && len(out) < mostJudged {
			out = append(out, n)
		}
	}
	return out
}

// judge is the probability that a cut into a and b parts two pieces; while the model is fitted, what the oracle says.
func (s *splitter) judge(f []float64, a, b part) float64 {
	if s.oracle == nil {
		return s.cuts.Probability(f)
	}
	return s.oracle(f, a.outline, b.outline)
}

// thin keeps points at least step apart and tells their indices in the original.
func thin(o []result.XY, step float64) (line []result.XY, index []int) {
	for i, p := range o {
		if len(line) == 0 || dist(p, line[len(line)-1]) >= step {
			line, index = append(line, p), append(index, i)
		}
	}
	return line, index
}

// neck is a possible cut, between two points of an outline.
type neck struct {
	i, j         int
	from, to     result.XY
	turn         [2]float64 // of the outline at both ends, rad; negative: hollow
	length, cost float64
	arc          float64 // shorter way round between the ends
}

// necks lists the promising cuts between a hollow point and another point of the outline.
func (s *splitter) necks(line []result.XY) []neck {
	n := len(line)
	turn := turning(line, turnArmMM*s.pxPerMM)
	run := arcLengths(line)
	total := run[n]
	var out []neck
	for i := range n {
		if turn[i] > -slightTurn || !isHollowest(turn, i) {
			continue
		}
		best := neck{cost: math.Inf(1)}
		for j := range n {
			arc := math.Abs(run[j] - run[i])
			arc = math.Min(arc, total-arc)
			d := dist(line[i], line[j])
			if arc < 1.2*s.pxPerMM || d > 0.5*arc {
				continue
			}
			// A hollow at the other end too speaks for the cut.
			cost := d / arc * (1.25 - 0.5*math.Min(1, math.Max(0, -turn[j])))
			if cost < best.cost && s.inside(line[i], line[j]) {
				best = neck{i, j, line[i], line[j], [2]float64{turn[i], turn[j]}, d, cost, arc}
			}
		}
		if !math.IsInf(best.cost, 1) {
			out = append(out, best)
		}
	}
	return out
}

// turning is the angle by which the outline turns at each point, over arms of the given length:
// positive where it bulges, negative where it is hollow (the outline runs clockwise, y down).
func turning(line []result.XY, arm float64) []float64 {
	n := len(line)
	out := make([]float64, n)
	for i := range line {
		a, b := i, i
		for k := 0; k < n/3 && dist(line[a], line[i]) < arm; k++ {
			a = (a - 1 + n) % n
		}
		for k := 0; k < n/3 && dist(line[b], line[i]) < arm; k++ {
			b = (b + 1) % n
		}
		ux, uy := line[i][0]-line[a][0], line[i][1]-line[a][1]
		vx, vy := line[b][0]-line[i][0], line[b][1]-line[i][1]
		out[i] = math.Atan2(ux*vy-uy*vx, ux*vx+uy*vy)
	}
	return out
}

func isHollowest(turn []float64, i int) bool {
	n := len(turn)
	for k := 1; k <= 2; k++ {
		if turn[(i+k)%n] < turn[i] || turn[(i-k+n)%n] < turn[i] {
			return false
		}
	}
	return true
}

func arcLengths(line []result.XY) []float64 {
	run := make([]float64, len(line)+1)
	for i := range line {
		run[i+1] = run[i] + dist(line[i], line[(i+1)%len(line)])
	}
	return run
}

// inside tells whether the segment runs within the mask, ends aside.
func (s *splitter) inside(a, b result.XY) bool {
	for _, t := range [5]float64{0.15, 0.3, 0.5, 0.7, 0.85} {
		x, y := int(a[0]+t*(b[0]-a[0])), int(a[1]+t*(b[1]-a[1]))
		if x < 0 || y < 0 || x >= s.w || y >= s.h || s.depth[y*s.w+x] == 0 {
			return false
		}
	}
	return true
}

// divide cuts the outline between points i and j.
func divide(p part, i, j int) (a, b part) {
	if i > j {
		i, j = j, i
	}
	a.crossed, b.crossed = p.crossed, p.crossed
	n, more := len(p.outline), int(dist(p.outline[i], p.outline[j])) // points that closeJoint adds
	a.outline = append(make([]result.XY, 0, j-i+1+more), p.outline[i:j+1]...)
	a.joint = append(make([]bool, 0, j-i+1+more), p.joint[i:j+1]...)
	b.outline = append(append(make([]result.XY, 0, n-j+i+1+more), p.outline[j:]...), p.outline[:i+1]...)
	b.joint = append(append(make([]bool, 0, n-j+i+1+more), p.joint[j:]...), p.joint[:i+1]...)
	return closeJoint(a), closeJoint(b)
}

// closeJoint adds points along the closing segment, marked as cut.
func closeJoint(p part) part {
	n := len(p.outline)
	a, b := p.outline[n-1], p.outline[0]
	p.joint[n-1], p.joint[0] = true, true
	steps := int(dist(a, b))
	for k := 1; k < steps; k++ {
		t := float64(k) / float64(steps)
		p.outline = append(p.outline, result.XY{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])})
		p.joint = append(p.joint, true)
	}
	return p
}

// inscribed is the largest depth of a mask pixel inside the outline.
func (s *splitter) inscribed(o []result.XY) float64 {
	var best float32
	eachSpan(o, s.w, s.h, func(y, x0, x1 int) {
		for _, d := range s.depth[y*s.w+x0 : y*s.w+x1+1] {
			if d > best { // max looks for what is no number, too
				best = d
			}
		}
	})
	return float64(best)
}

func dist(a, b result.XY) float64 { return math.Hypot(a[0]-b[0], a[1]-b[1]) }
