package vision

import (
	"cmp"
	"math"
	"slices"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// Limits of crossings of slender pieces, and of ends that lie against a side.
const (
	crossTurn    = 0.30  // radians that the outline turns inward at a crossing, at least
	mostHollows  = 18    // of an outline whose crossings are looked for
	mostTried    = 10    // crossings of one outline whose pieces are looked at
	mostGuessed  = 8     // and of one where one of the four corners may be no hollow
	mostAcrossMM = 10.0  // side of the area where two pieces cross
	turnArmShare = 0.17  // of a small part's size, the root of its area: what the outline's turn is taken over, at most turnArmMM
	leastArmMM   = 0.35  // that an arm reaches beyond its base
	leastArm     = 0.07  // and of a small part's size, where that is less
	mostSkew     = 2.2   // of the opposite sides of that area, one over the other
	offSidesMM   = 1.0   // of all four sides together, root mean square distances from straight lines
	mostKernel   = 0.85  // mean probability of kernel in either piece: kernels do not lie across each other
	kernelSides  = 0.6   // mm that the sides may lie off, all together, of straws that look like kernels
	kernelGain   = 0.22  // and hull saved over the area of both: short pale straws reach both, kernels that touch reach neither
	leastSlender = 1.5   // length over mean width
	leastGain    = 0.20  // area of hull saved over the smaller piece's: wavy rims have crossings too, but save none
	leastGainAll = 0.05  // and over the area of both
	leastShared  = -0.15 // of the smaller piece lies in both: outlines that leave out more run across themselves
	mostShared   = 0.6   // at most
	gainWeight   = 2.0   // mm of sides off their lines that the latter is worth
	flushCostMM  = 0.2   // what a corner that is no hollow costs
)

// crossing parts two slender pieces that lie across each other. Around the crossing the outline has
// four hollows h1..h4; the arms between them belong in opposite pairs to one piece: its outline runs
// along one arm, straight on across the crossing, and along the opposite arm. One of the four may be no
// hollow: where one piece's end lies flush with the other's side.
func (s *splitter) crossing(p part, whole hollowness, line []result.XY, index []int) (a, b part, ok bool) {
	turn := turning(line, math.Min(turnArmMM*s.pxPerMM, turnArmShare*math.Sqrt(areaOf(p))))
	hollows := hollowsOf(turn, crossTurn)
	if len(hollows) < 3 || len(hollows) > mostHollows || len(hollows) > mostGuessed && s.kernelIn(p.outline) >= mostKernel {
		return a, b, false
	}
	c := crossings{sides: sides{line, turn, s.pxPerMM}, splitter: s, part: p, index: index, hollows: hollows, hull: whole.hull, best: math.Inf(1)}
	if c.room = c.hull/areaOf(p) - 1; c.room < leastGainAll {
		return a, b, false
	}
	c.amongHollows()
	if len(hollows) <= mostGuessed {
		c.withFlushCorner()
	}
	c.judge()
	return c.a, c.b, c.ok
}

// crossings looks for the best crossing of a part's outline.
type crossings struct {
	sides
	*splitter
	part    part
	index   []int // in the part's outline of the line's points
	hollows []int
	found   []corners
	hull    float64 // area of the part's convex hull
	room    float64 // most that the hull can lose, over the part's area
	best    float64
	a, b    part
	ok      bool
}

// amongHollows tries all crossings with a hollow at every corner.
func (c *crossings) amongHollows() {
	h := c.hollows
	for i := range h {
		for j := i + 1; j < len(h); j++ {
			for k := j + 1; k < len(h) && c.near(h[i], h[j]); k++ {
				for l := k + 1; l < len(h) && c.near(h[j], h[k]); l++ {
					c.try([4]int{h[i], h[j], h[k], h[l]}, 0)
				}
			}
		}
	}
}

// withFlushCorner tries those with three hollows and another point of the outline where it does not bulge.
func (c *crossings) withFlushCorner() {
	h, n := c.hollows, len(c.hollows)
	for i := range h {
		for j := 1; j < n; j++ {
			a, b := h[i], h[(i+j)%n]
			for k := j + 1; k < n && c.near(a, b); k++ {
				from := h[(i+k)%n]
				if !c.near(b, from) {
					continue
				}
				for g := (from + 1) % len(c.line); g != a; g = (g + 1) % len(c.line) {
					if c.turn[g] < 0 {
						c.try([4]int{a, b, from, g}, flushCostMM)
					}
				}
			}
		}
	}
}

// near tells whether two points may be corners of one crossing, next to each other.
func (c *crossings) near(i, j int) bool {
	return dist(c.line[i], c.line[j]) <= mostAcrossMM*c.sides.pxPerMM
}

// across is the side that runs from arm k to the opposite one.
func across(h [4]int, k int) side {
	return side{from: h[k], last: h[(k+1)%4], next: h[(k+2)%4], to: h[(k+3)%4]}
}

// try keeps the crossing with corners h, clockwise, if arms reach out all round and its sides are straight.
func (c *crossings) try(h [4]int, more float64) {
	if !c.near(h[2], h[3]) || !c.near(h[3], h[0]) || !c.arms(h) {
		return
	}
	cost := 0.0
	for k := range h {
		cost += c.offMM(across(h, k))
		if cost > offSidesMM {
			return
		}
	}
	c.found = append(c.found, corners{h, cost + more})
}

// corners are those of a crossing whose sides are straight; cost is what they lie off and lack, mm.
type corners struct {
	at   [4]int
	cost float64
}

// judge chooses among the mostTried crossings of the straightest sides.
func (c *crossings) judge() {
	slices.SortStableFunc(c.found, func(a, b corners) int { return cmp.Compare(a.cost, b.cost) })
	for _, f := range c.found[:min(len(c.found), mostTried)] {
		if f.cost-gainWeight*c.room < c.best {
			c.weigh(f.at, f.cost)
		}
	}
}

// weigh holds a crossing's pieces against the best so far.
func (c *crossings) weigh(h [4]int, cost float64) {
	x, y := c.uncross(h)
	if !c.slender(x) || !c.slender(y) {
		return
	}
	saved := c.hull - hullOfBoth(c.part, x, y)
	areaX, areaY := areaOf(x), areaOf(y)
	gain := saved / areaOf(c.part)
	if shared := (areaX + areaY - areaOf(c.part)) / min(areaX, areaY); shared < leastShared || shared > mostShared {
		return
	}
	if gain < leastGainAll || saved < leastGain*min(areaX, areaY) || (cost > kernelSides || gain < kernelGain) && c.kernels(x, y) {
		return
	}
	if cost -= gainWeight * gain; cost < c.best {
		c.a, c.b, c.best, c.ok = x, y, cost, true
	}
}

// arms tells whether four arms reach out between the corners, of bases that are a parallelogram, about.
func (c *crossings) arms(h [4]int) bool {
	var base [4]float64
	for k := range h {
		a, b := h[k], h[(k+1)%4]
		base[k] = dist(c.line[a], c.line[b])
	}
	for k := range 2 {
		if r := base[k] / math.Max(base[k+2], 1e-9); r < 1/mostSkew || r > mostSkew {
			return false
		}
	}
	least := math.Min(leastArmMM, leastArm*math.Sqrt(areaOf(c.part))/c.sides.pxPerMM)
	for k := range h {
		if c.reachMM(h[k], h[(k+1)%4]) < least {
			return false
		}
	}
	return true
}

// uncross joins the arms between h1 and h2 and between h3 and h4 to one piece, the others to another.
func (c *crossings) uncross(h [4]int) (a, b part) {
	var first, last [4]int // of each arm
	for k := range h {
		first[k], last[k] = c.index[h[k]], c.index[h[(k+1)%4]]
	}
	for k := range h {
		i, j := c.sharpened(across(h, k))
		last[k], first[(k+2)%4] = c.index[i], c.index[j]
	}
	return joined(c.part, first[0], last[0], first[2], last[2]), joined(c.part, first[1], last[1], first[3], last[3])
}

// kernels tells whether the network takes x or y for a kernel.
func (s *splitter) kernels(x, y part) bool {
	return max(s.kernelIn(x.outline), s.kernelIn(y.outline)) >= mostKernel
}

// kernelIn is the mean probability of kernel inside the outline; 0 without a network.
func (s *splitter) kernelIn(o []result.XY) float64 {
	if s.contact == nil {
		return 0
	}
	sum, n := 0.0, 0.0
	eachSpan(o, s.w, s.h, func(y, x0, x1 int) {
		for x := x0; x <= x1; x++ {
			sum += float64(s.contact.kernel[s.contact.index(x, y)])
			n++
		}
	})
	return sum / math.Max(n, 1)
}

// hullOfBoth is the area of the convex hulls of x and y, into which p falls, what both pieces cover counted once.
func hullOfBoth(p, x, y part) float64 {
	return hullArea(x) + hullArea(y) - areaOf(x) - areaOf(y) + areaOf(p)
}

func hullArea(p part) float64 { return areaOf(p) / shape.Solidity(p.outline) }

func areaOf(p part) float64 { return math.Abs(shape.Area(p.outline)) }

// hollowsOf lists the points where the outline turns inward most, by least radians.
func hollowsOf(turn []float64, least float64) []int {
	var out []int
	for i, t := range turn {
		if t < -least && isHollowest(turn, i) && (len(out) == 0 || i-out[len(out)-1] > 2) {
			out = append(out, i)
		}
	}
	return out
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
	return bigEnough(p, s.minArea) && length > leastSlender*thick
}

func bigEnough(p part, area float64) bool { return areaOf(p) >= area }
