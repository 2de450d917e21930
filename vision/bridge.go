package vision

import (
	"math"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// Limits of joining the two ends of a straw that passes under another piece.
const (
	mostBridgeMM  = 9.0  // from one end to the other
	bridgeAngle   = 0.42 // radians between either end and the line across, at most
	bridgeAngles  = 0.62 // of both ends together
	leastBridgeMM = 0.6  // shorter, nothing lies across
	sideStep      = 0.30 // of the width, by which a side may jump across
	sideStepMM    = 0.35 // and as much on top
	mouthReachMM  = 3.0  // of the piece behind a cut that tells its direction
	mouthGapMM    = 0.5  // seen outline between two cuts that are one all the same
	likeColour    = 22.0 // CIE 1976 difference between the two ends, at most
	mostlyBridged = 0.7  // of a part's area under two bridges: it is nothing but their crossing
	mostInLine    = 0.75 // of the area of the part between: more, and it is the next in a row, not one that lies across
	leastMouth    = 0.70 // of the mean width, for a cut across a straw: kernels taper to where they touch
	leastBridged  = 2.5  // length over width of what two ends make
)

// mouth is a stretch of a part's outline where it was cut, and where the part points there.
type mouth struct {
	from, to int       // first and last point of the cut, clockwise
	mid      result.XY // of the cut
	way      result.XY // unit vector out of the part
}

// bridge joins parts of one blob that are the two ends of a piece under another one.
func (s *splitter) bridge(parts []part) []part {
	var bridges [][]result.XY
	for len(parts) > 2 {
		best, cost := span{}, math.Inf(1)
		for _, c := range s.spans(parts) {
			if c.cost < cost && s.over(parts, c) && s.likeEnds(parts[c.a], parts[c.b]) && s.strawOf(parts[c.a], parts[c.b], c) {
				best, cost = c, c.cost
			}
		}
		if math.IsInf(cost, 1) {
			break
		}
		joined, gap := unite(parts[best.a], parts[best.b], best.m, best.n)
		bridges = append(bridges, gap)
		parts[best.a] = joined
		parts = append(parts[:best.b], parts[best.b+1:]...)
	}
	return s.dropCrossings(parts, bridges)
}

// span is a way to join part a at mouth m with part b at mouth n.
type span struct {
	a, b int
	m, n mouth
	cost float64
}

// spans lists the pairs of cuts that face each other and whose sides run on.
func (s *splitter) spans(parts []part) []span {
	mouths := make([][]mouth, len(parts))
	for i := range parts {
		mouths[i] = s.mouths(parts[i])
	}
	var out []span
	for a := range parts {
		for b := a + 1; b < len(parts); b++ {
			for _, m := range mouths[a] {
				for _, n := range mouths[b] {
					if cost, ok := s.faces(parts[a], parts[b], m, n); ok {
						out = append(out, span{a, b, m, n, cost})
					}
				}
			}
		}
	}
	return out
}

// mouths lists where p was cut.
func (s *splitter) mouths(p part) []mouth {
	n := len(p.outline)
	start := -1
	for i := range n { // a stretch that was seen, to begin after
		if !p.joint[i] && s.seenFor(p, i) {
			start = i
			break
		}
	}
	if start < 0 {
		return nil
	}
	var out []mouth
	for k := 1; k < n; k++ {
		i := (start + k) % n
		if !p.joint[i] {
			continue
		}
		last := i
		for ; k < n; k++ {
			j := (start + k) % n
			if p.joint[j] {
				last = j
			} else if s.seenFor(p, j) {
				break
			}
		}
		if m, ok := s.mouthAt(p, i, last); ok {
			out = append(out, m)
		}
	}
	return out
}

// seenFor tells whether the outline from point i on was seen for longer than mouthGapMM.
func (s *splitter) seenFor(p part, i int) bool {
	n := len(p.outline)
	for k := range n {
		j := (i + k) % n
		if p.joint[j] {
			return false
		}
		if dist(p.outline[i], p.outline[j]) > mouthGapMM*s.pxPerMM {
			return true
		}
	}
	return true
}

func (s *splitter) mouthAt(p part, from, to int) (mouth, bool) {
	a, b := p.outline[from], p.outline[to]
	m := mouth{from: from, to: to, mid: result.XY{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2}}
	var c result.XY
	k := 0.0
	for i, q := range p.outline {
		if !p.joint[i] && dist(q, m.mid) < mouthReachMM*s.pxPerMM {
			c, k = result.XY{c[0] + q[0], c[1] + q[1]}, k+1
		}
	}
	if k < 3 {
		return m, false
	}
	c = result.XY{c[0] / k, c[1] / k}
	d := dist(c, m.mid)
	if d < 0.2*s.pxPerMM {
		return m, false
	}
	m.way = result.XY{(m.mid[0] - c[0]) / d, (m.mid[1] - c[1]) / d}
	return m, true
}

// faces tells whether the cuts m of a and n of b face each other as the ends of one straw, and how badly.
func (s *splitter) faces(a, b part, m, n mouth) (cost float64, ok bool) {
	gap := dist(m.mid, n.mid)
	if gap > mostBridgeMM*s.pxPerMM || gap < leastBridgeMM*s.pxPerMM {
		return 0, false
	}
	u := result.XY{(n.mid[0] - m.mid[0]) / gap, (n.mid[1] - m.mid[1]) / gap}
	x := math.Acos(clampUnit(dot(u, m.way)))
	y := math.Acos(clampUnit(-dot(u, n.way)))
	if x > bridgeAngle || y > bridgeAngle || x+y > bridgeAngles {
		return 0, false
	}
	across := result.XY{-u[1], u[0]}
	// Clockwise, the side of a that ends where its cut begins goes on where b's cut ends.
	l0, l1 := dot(across, a.outline[m.from]), dot(across, b.outline[n.to])
	r0, r1 := dot(across, a.outline[m.to]), dot(across, b.outline[n.from])
	width := (math.Abs(l0-r0) + math.Abs(l1-r1)) / 2
	step := math.Max(math.Abs(l0-l1), math.Abs(r0-r1))
	if width > mostBaseMM*s.pxPerMM || step > sideStep*width+sideStepMM*s.pxPerMM || (l0-r0)*(l1-r1) <= 0 {
		return 0, false
	}
	_, thickA := proportions(a)
	_, thickB := proportions(b)
	if width < leastMouth*math.Max(thickA, thickB) {
		return 0, false
	}
	return x + y + step/(width+s.pxPerMM), true
}

// proportions are the part's geodesic length and mean width.
func proportions(p part) (length, thick float64) {
	return shape.Geodesic(math.Abs(shape.Area(p.outline)), shape.Perimeter(p.outline))
}

// strawOf tells whether the two ends make a slender piece.
func (s *splitter) strawOf(a, b part, c span) bool {
	p, _ := unite(a, b, c.m, c.n)
	length, thick := proportions(p)
	return length > leastBridged*thick
}

func dot(a, b result.XY) float64 { return a[0]*b[0] + a[1]*b[1] }

func clampUnit(v float64) float64 { return math.Max(-1, math.Min(1, v)) }

// over tells whether another part lies across between the two ends.
func (s *splitter) over(parts []part, c span) bool {
	held := map[int]int{}
	for _, t := range [5]float64{0.2, 0.35, 0.5, 0.65, 0.8} {
		q := result.XY{c.m.mid[0] + t*(c.n.mid[0]-c.m.mid[0]), c.m.mid[1] + t*(c.n.mid[1]-c.m.mid[1])}
		who := -1
		for i := range parts {
			if i != c.a && i != c.b && shape.Contains(parts[i].outline, q) {
				who = i
			}
		}
		if who < 0 {
			return false
		}
		held[who]++
	}
	_, gap := unite(parts[c.a], parts[c.b], c.m, c.n)
	for i := range held {
		if s.shareIn(parts[i], gap) > mostInLine && jointShare(parts[i]) < 0.7 {
			return false
		}
	}
	return true
}

// shareIn is the share of p's area inside the polygon.
func (s *splitter) shareIn(p part, polygon []result.XY) float64 {
	all, in := 0.0, 0.0
	eachSpan(p.outline, s.w, s.h, func(y, x0, x1 int) {
		for x := x0; x <= x1; x++ {
			all++
			if shape.Contains(polygon, result.XY{float64(x) + 0.5, float64(y) + 0.5}) {
				in++
			}
		}
	})
	return in / math.Max(1, all)
}

// jointShare is the share of the outline's points that were cut.
func jointShare(p part) float64 {
	n := 0.0
	for _, j := range p.joint {
		if j {
			n++
		}
	}
	return n / math.Max(1, float64(len(p.joint)))
}

// likeEnds tells whether two parts have about the same colour.
func (s *splitter) likeEnds(a, b part) bool {
	if s.lab == nil {
		return true
	}
	u, v := s.meanColour(a.outline), s.meanColour(b.outline)
	return math.Sqrt(float64((u[0]-v[0])*(u[0]-v[0])+(u[1]-v[1])*(u[1]-v[1])+(u[2]-v[2])*(u[2]-v[2]))) < likeColour
}

func (s *splitter) meanColour(o []result.XY) (c [3]float32) {
	n := float32(0)
	eachSpan(o, s.w, s.h, func(y, x0, x1 int) {
		for x := x0; x <= x1; x++ {
			v := s.lab.at(y*s.w + x)
			c, n = [3]float32{c[0] + v[0], c[1] + v[1], c[2] + v[2]}, n+1
		}
	})
	n = max(n, 1)
	return [3]float32{c[0] / n, c[1] / n, c[2] / n}
}

// unite joins a at mouth m with b at mouth n by straight sides; gap is the quadrilateral between them.
func unite(a, b part, m, n mouth) (p part, gap []result.XY) {
	p.crossed = true
	p.addArc(a, m.to, m.from)
	p.addSide(b.outline[n.to])
	p.addArc(b, n.to, n.from)
	p.addSide(a.outline[m.to])
	return p, []result.XY{a.outline[m.from], b.outline[n.to], b.outline[n.from], a.outline[m.to]}
}

// dropCrossings leaves out parts that are nothing but the place where two joined pieces cross.
func (s *splitter) dropCrossings(parts []part, bridges [][]result.XY) []part {
	if len(bridges) < 2 {
		return parts
	}
	var kept []part
	for _, p := range parts {
		all, under := 0.0, 0.0
		eachSpan(p.outline, s.w, s.h, func(y, x0, x1 int) {
			for x := x0; x <= x1; x++ {
				all++
				n := 0
				for _, g := range bridges {
					if shape.Contains(g, result.XY{float64(x) + 0.5, float64(y) + 0.5}) {
						n++
					}
				}
				if n > 1 {
					under++
				}
			}
		})
		if under < mostlyBridged*all {
			kept = append(kept, p)
		}
	}
	return kept
}
