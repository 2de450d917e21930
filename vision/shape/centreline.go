package shape

import "math"

// CentreLine is the length of a slender piece along its centreline from end to end, and that line. The
// piece may be straight or bent, blunt, slanted or pointed at its ends; of a forked one it is the longest
// way from tip to tip. A straight 20 × 5 rectangle has length 20.
//
// The outline is drawn on a grid of about seven cells across the piece. The two points of it that are
// farthest apart within the piece are held, and the rest is thinned to one line between them in the order
// of the distance from the edge (distance-ordered homotopic thinning; Pudney 1998, Comput. Vis. Image
// Underst. 72:404). That line runs into corners at its ends: there it is cut back to where it is
// centred, moved into the middle between the two sides by chords across the exact outline, and carried
// on to the outline along an arc with the tangent and curvature of its last stretch. Slanted ends thus
// count as far as where the axis meets them. A piece less than about three times as long as wide has
// no line to speak of: it is measured along a parabola through the middles of chords across it.
//
// Points that lie within half a percent of the width of their neighbours' chord are left out first.
//
// Nothing, or a straight line between the farthest points, where the outline has no area.
func CentreLine(outline []XY) (length float64, line []XY) {
	h := ConvexHull(outline)
	return centreLine(outline, h, math.Abs(Area(outline)), Perimeter(outline))
}

func centreLine(outline []XY, h Hull, area, perimeter float64) (float64, []XY) {
	f := h.MaxFeret()
	if !(f.Length > 0 && perimeter <= math.MaxFloat64) {
		return 0, nil
	}
	_, thick := Geodesic(area, perimeter)
	if len(h) < 3 || !(thick > 1e-6*f.Length) {
		return longestChord(h, f)
	}
	if len(outline) > 64 {
		outline = Simplify(outline, 0.005*thick)
	}
	g := newGrid(outline, h.MinAreaRect(), thick)
	defer g.release()
	path := g.longestPath()
	along := Length(path)
	w := g.area() / along
	if !(along > 4*w) {
		return shortAxis(outline, h)
	}
	line := g.refine(path)
	for i, p := range line {
		line[i] = g.frame.back(p)
	}
	if len(line) < 2 {
		return longestChord(h, f)
	}
	length := Length(line)
	if along < hardlySlender*w {
		short, axis := shortAxis(outline, h)
		if short > length*(1+strayed) && short > nearlyWhole*f.Length && dist(axis[0], axis[len(axis)-1]) > nearlyStraight*short {
			return short, axis
		}
	}
	return length, line
}

// A spur on the side of a straight piece that is hardly slender can lead the line astray, which then ends short of the piece's ends. It is measured as a
// stubby one where that gives so much more and nearly its largest Feret diameter. A bent one is not: a parabola leaves it before its ends.
const (
	hardlySlender  = 7
	strayed        = 0.06
	nearlyWhole    = 0.9
	nearlyStraight = 0.98
)

// longestChord is the line between the two farthest points.
func longestChord(h Hull, f Feret) (float64, []XY) {
	a := h[farthest(h, h[0])]
	for _, p := range h {
		if q := h[farthest(h, p)]; dist(p, q) >= f.Length*(1-1e-12) {
			return dist(p, q), []XY{p, q}
		}
	}
	return dist(a, h[0]), []XY{h[0], a}
}

// shortAxis measures a stubby piece: along a parabola through the middles of the chords across it. The
// first axis is square to the smallest Feret diameter and is turned twice into the line through those
// middles, so that neither a taper nor slanted ends lead it astray.
func shortAxis(outline []XY, h Hull) (float64, []XY) {
	s, co := math.Sincos(h.MinFeret().Angle + math.Pi/2)
	a := axis{at: Centroid(outline), u: XY{co, s}}
	for range 3 {
		lo, hi := chord(outline, a.at, a.u)
		if !(hi > lo) || math.IsInf(hi-lo, 0) {
			return longestChord(h, h.MaxFeret())
		}
		a.lo, a.hi = lo, hi
		c0, c1, c2 := a.middles(outline)
		if u := unit(add(a.u, mul(a.across(), c1))); dot(u, a.u) > 0.9 {
			a.at, a.u = add(a.at, mul(a.across(), c0)), u
		}
		a.bend = min(max(c2, -0.5/(hi-lo)), 0.5/(hi-lo))
	}
	lo, hi := chord(outline, a.at, a.u)
	a.lo, a.hi = lo, hi
	line := append(reversed(a.half(outline, -1)), a.half(outline, 1)[1:]...)
	return Length(line), line
}

// axis is the curve at + t·u + bend·t²·across; lo..hi is the chord along u.
type axis struct {
	at, u        XY
	lo, hi, bend float64
}

func (a axis) across() XY { return XY{-a.u[1], a.u[0]} }

func (a axis) point(t float64) XY {
	return add(a.at, add(mul(a.u, t), mul(a.across(), a.bend*t*t)))
}

// half is the curve from at to the outline, forwards or backwards.
func (a axis) half(outline []XY, side float64) []XY {
	step := side * (a.hi - a.lo) / 24
	line := []XY{a.point(0)}
	for k := 1.0; k < 24; k++ {
		p, q := line[len(line)-1], a.point(k*step)
		d := sub(q, p)
		if ahead, _ := gap(outline, p, unit(d)); ahead <= norm(d) {
			return append(line, add(p, mul(unit(d), ahead)))
		}
		line = append(line, q)
	}
	return line
}

// middles fits y = c0 + c1·t + c2·t² by least squares to the middles of seven chords square to u in the
// middle half of lo..hi.
func (a axis) middles(outline []XY) (c0, c1, c2 float64) {
	var m [5]float64
	var b [3]XY
	size := a.hi - a.lo
	for k := range 7 {
		t := a.lo/size + 0.25 + 0.5*float64(k)/6
		lo, hi := chord(outline, add(a.at, mul(a.u, t*size)), a.across())
		y := (lo + hi) / 2
		for i, w := 0, 1.0; i < 5; i, w = i+1, w*t {
			m[i] += w
			if i < 3 {
				b[i][0] += w * y
			}
		}
	}
	p0, p1, p2 := parabola(m, b)
	return p0[0], p1[0] / size, p2[0] / (size * size)
}

// chord is where the line through p along u first enters and last leaves the outline.
func chord(outline []XY, p, u XY) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	eachCrossing(outline, p, u, func(t float64) { lo, hi = min(lo, t), max(hi, t) })
	return lo, hi
}

// eachCrossing calls f with the place t of every crossing p + t·u of the line with the outline.
func eachCrossing(outline []XY, p, u XY, f func(t float64)) {
	n := len(outline)
	a := outline[n-1]
	sa := cross(u, sub(a, p))
	for _, b := range outline {
		sb := cross(u, sub(b, p))
		if (sa > 0) != (sb > 0) {
			k := sa / (sa - sb)
			f(dot(u, sub(lerp(a, b, k), p)))
		}
		a, sa = b, sb
	}
}

// gap is the distance from p along u to the outline ahead and against u to the one behind; infinite
// where there is none.
func gap(outline []XY, p, u XY) (ahead, behind float64) {
	ahead, behind = math.Inf(1), math.Inf(1)
	eachCrossing(outline, p, u, func(t float64) {
		if t >= 0 {
			ahead = min(ahead, t)
		} else {
			behind = min(behind, -t)
		}
	})
	return ahead, behind
}
