package scene

import (
	"cmp"
	"math"
	"slices"

	"gristmark/internal/result"
)

// XY is a position in mm on the tray plane or in px of the photo; the name of the variable tells which.
type XY = result.XY

func add(a, b XY) XY           { return XY{a[0] + b[0], a[1] + b[1]} }
func sub(a, b XY) XY           { return XY{a[0] - b[0], a[1] - b[1]} }
func scale(a XY, k float64) XY { return XY{a[0] * k, a[1] * k} }
func dot(a, b XY) float64      { return a[0]*b[0] + a[1]*b[1] }
func cross(a, b XY) float64    { return a[0]*b[1] - a[1]*b[0] }
func dist(a, b XY) float64     { return math.Hypot(a[0]-b[0], a[1]-b[1]) }

func unit(angle float64) XY { return XY{math.Cos(angle), math.Sin(angle)} }

func rotate(p XY, c, s float64) XY { return XY{p[0]*c - p[1]*s, p[0]*s + p[1]*c} }

// signedArea of a polygon by the shoelace formula; positive when clockwise with y down.
func signedArea(poly []XY) float64 {
	sum := 0.0
	for i, p := range poly {
		sum += cross(p, poly[(i+1)%len(poly)])
	}
	return sum / 2
}

// Area of a simple polygon.
func Area(poly []XY) float64 { return math.Abs(signedArea(poly)) }

// Centroid of a simple polygon's area.
func Centroid(poly []XY) XY {
	if len(poly) == 0 {
		return XY{}
	}
	var c XY
	o, a := poly[0], 0.0
	for i := range poly {
		p, q := sub(poly[i], o), sub(poly[(i+1)%len(poly)], o)
		k := cross(p, q)
		a += k
		c[0] += (p[0] + q[0]) * k
		c[1] += (p[1] + q[1]) * k
	}
	if math.Abs(a) < 1e-12 {
		return o
	}
	return add(o, scale(c, 1/(3*a)))
}

func perimeter(poly []XY) float64 {
	sum := 0.0
	for i, p := range poly {
		sum += dist(p, poly[(i+1)%len(poly)])
	}
	return sum
}

// hull is the convex hull, Andrew's monotone chain.
func hull(points []XY) []XY {
	ps := append([]XY(nil), points...)
	slices.SortFunc(ps, func(a, b XY) int {
		return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1]))
	})
	half := func(ps []XY) []XY {
		var h []XY
		for _, p := range ps {
			for len(h) > 1 && cross(sub(h[len(h)-1], h[len(h)-2]), sub(p, h[len(h)-2])) <= 0 {
				h = h[:len(h)-1]
			}
			h = append(h, p)
		}
		return h
	}
	lower := half(ps)
	for i, j := 0, len(ps)-1; i < j; i, j = i+1, j-1 {
		ps[i], ps[j] = ps[j], ps[i]
	}
	upper := half(ps)
	if len(lower) < 2 {
		return lower
	}
	return append(lower[:len(lower)-1], upper[:len(upper)-1]...)
}

// ferets are the largest and smallest Feret diameters and the extent across the smallest.
func ferets(points []XY) (largest, smallest, across float64) {
	h := hull(points)
	smallest = math.Inf(1)
	for i, p := range h {
		for _, q := range h[i+1:] {
			if d := sub(p, q); dot(d, d) > largest {
				largest = dot(d, d)
			}
		}
		e := sub(h[(i+1)%len(h)], p)
		n := math.Hypot(e[0], e[1])
		if n < 1e-12 {
			continue
		}
		w, along := extents(h, scale(e, 1/n))
		if w < smallest {
			smallest, across = w, along
		}
	}
	return math.Sqrt(largest), smallest, across
}

// narrowest is the direction along which a shape lies: its extent across is smallest.
func narrowest(points []XY) XY {
	h := hull(points)
	best, along := math.Inf(1), XY{1, 0}
	for i, p := range h {
		e := sub(h[(i+1)%len(h)], p)
		n := math.Hypot(e[0], e[1])
		if n < 1e-12 {
			continue
		}
		if w, _ := extents(h, scale(e, 1/n)); w < best {
			best, along = w, scale(e, 1/n)
		}
	}
	return along
}

// extents across and along a unit direction.
func extents(points []XY, along XY) (w, l float64) {
	w0, w1, l0, l1 := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for _, p := range points {
		c, d := along[0]*p[1]-along[1]*p[0], along[0]*p[0]+along[1]*p[1]
		if c < w0 {
			w0 = c
		}
		if c > w1 {
			w1 = c
		}
		if d < l0 {
			l0 = d
		}
		if d > l1 {
			l1 = d
		}
	}
	return w1 - w0, l1 - l0
}

func inside(poly []XY, p XY) bool {
	in := false
	for i, a := range poly {
		b := poly[(i+1)%len(poly)]
		if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0]+(b[0]-a[0])*(p[1]-a[1])/(b[1]-a[1]) {
			in = !in
		}
	}
	return in
}

func segmentDistance(p, a, b XY) float64 {
	d := sub(b, a)
	t := 0.0
	if n := dot(d, d); n > 0 {
		t = clamp(dot(sub(p, a), d)/n, 0, 1)
	}
	return dist(p, add(a, scale(d, t)))
}

// gap is the distance between two outlines, 0 where they overlap.
func gap(a, b []XY) float64 {
	if inside(a, b[0]) || inside(b, a[0]) {
		return 0
	}
	best := math.Inf(1)
	for i := range a {
		p, q := a[i], a[(i+1)%len(a)]
		for j := range b {
			r, s := b[j], b[(j+1)%len(b)]
			if segmentsCross(p, q, r, s) {
				return 0
			}
			best = math.Min(best, math.Min(segmentDistance(p, r, s), segmentDistance(r, p, q)))
		}
	}
	return best
}

func segmentsCross(p, q, r, s XY) bool {
	a, b := cross(sub(q, p), sub(r, p)), cross(sub(q, p), sub(s, p))
	c, d := cross(sub(s, r), sub(p, r)), cross(sub(s, r), sub(q, r))
	return a*b < 0 && c*d < 0
}

// lengthWithin is the length of a line from where it first enters an outline to where it last leaves it; 0 where it misses it.
func lengthWithin(line, outline []XY) float64 {
	first, last, along := math.Inf(1), math.Inf(-1), 0.0
	for i := 1; i < len(line); i++ {
		p, q := line[i-1], line[i]
		for j, r := range outline {
			s := outline[(j+1)%len(outline)]
			from, to := cross(sub(s, r), sub(p, r)), cross(sub(s, r), sub(q, r))
			if t := from / (from - to); segmentsCross(p, q, r, s) {
				first, last = math.Min(first, along+t*dist(p, q)), math.Max(last, along+t*dist(p, q))
			}
		}
		along += dist(p, q)
	}
	return math.Max(0, last-first)
}

func bounds(poly []XY) (lo, hi XY) {
	lo, hi = XY{math.Inf(1), math.Inf(1)}, XY{math.Inf(-1), math.Inf(-1)}
	for _, p := range poly {
		for k := range p {
			lo[k], hi[k] = math.Min(lo[k], p[k]), math.Max(hi[k], p[k])
		}
	}
	return lo, hi
}
