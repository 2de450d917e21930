package shape

import (
	"math"

	"gristmark/internal/result"
)

// XY is a position, [x, y].
type XY = result.XY

// Area is the signed area of the outline by the shoelace formula, positive where it runs from the x
// axis towards the y axis (clockwise on a screen, whose y points down).
func Area(outline []XY) float64 {
	n := len(outline)
	if n == 0 {
		return 0
	}
	ref, a2 := outline[0], 0.0
	p0, p1 := outline[n-1][0]-ref[0], outline[n-1][1]-ref[1]
	for i := range outline {
		q0, q1 := outline[i][0]-ref[0], outline[i][1]-ref[1]
		a2 += p0*q1 - q0*p1
		p0, p1 = q0, q1
	}
	return a2 / 2
}

// Centroid is the centre of the outline's area; of a degenerate outline the mean of its points, and of
// an empty one the origin.
func Centroid(outline []XY) XY {
	return moments0(outline).centroid
}

// Perimeter is the length of the closed outline. A staircase outline is longer than the edge that it
// stands for: Smooth it first.
func Perimeter(outline []XY) float64 {
	n := len(outline)
	if n < 2 {
		return 0
	}
	sum, p := 0.0, outline[n-1]
	for _, q := range outline {
		sum += dist(p, q)
		p = q
	}
	return sum
}

// Length is the length of the open line through the points.
func Length(line []XY) float64 {
	sum := 0.0
	for i := 1; i < len(line); i++ {
		sum += dist(line[i-1], line[i])
	}
	return sum
}

// Bounds is the smallest upright box round the points: its corner nearest the origin and the opposite
// one. The differences are the horizontal and vertical Feret diameters.
func Bounds(points []XY) (low, high XY) {
	if len(points) == 0 {
		return
	}
	low, high = points[0], points[0]
	for _, p := range points[1:] {
		low[0], low[1] = min(low[0], p[0]), min(low[1], p[1])
		high[0], high[1] = max(high[0], p[0]), max(high[1], p[1])
	}
	return low, high
}

// Contains reports whether p lies inside the outline by the even-odd rule. Points on the outline itself
// may fall either way.
func Contains(outline []XY, p XY) bool {
	in, n := false, len(outline)
	for i, j := 0, n-1; i < n; j, i = i, i+1 {
		a, b := outline[i], outline[j]
		if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0]+(p[1]-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
			in = !in
		}
	}
	return in
}

type firstMoments struct {
	area     float64 // signed
	centroid XY
}

// moments0 sums about the first point, so that a piece far from the origin loses no digits.
func moments0(o []XY) (m firstMoments) {
	n := len(o)
	if n == 0 {
		return
	}
	ref := o[0]
	var a2, sx, sy float64
	p := sub(o[n-1], ref)
	for _, v := range o {
		q := sub(v, ref)
		c := p[0]*q[1] - q[0]*p[1]
		a2 += c
		sx += c * (p[0] + q[0])
		sy += c * (p[1] + q[1])
		p = q
	}
	m.area = a2 / 2
	x, y := sx/(3*a2), sy/(3*a2)
	lo, hi := Bounds(o)
	m.centroid = XY{ref[0] + x, ref[1] + y}
	if flat(a2, lo, hi) || !within(m.centroid, lo, hi) {
		m.centroid = mean(o)
	}
	return m
}

// flat reports whether twice the area is nothing beside the box, so that a centroid by area has no meaning.
func flat(a2 float64, lo, hi XY) bool {
	w := max(hi[0]-lo[0], hi[1]-lo[1])
	return !(math.Abs(a2) > 1e-12*w*w)
}

func within(p, lo, hi XY) bool {
	return p[0] >= lo[0] && p[0] <= hi[0] && p[1] >= lo[1] && p[1] <= hi[1]
}

func mean(o []XY) (m XY) {
	for _, p := range o {
		m[0] += p[0] / float64(len(o))
		m[1] += p[1] / float64(len(o))
	}
	return m
}

// Ellipse is the ellipse with the same second moments of area as an outline.
type Ellipse struct {
	Major, Minor float64 // full axes, Major >= Minor >= 0
	Angle        float64 // of the major axis, -π/2 < Angle <= π/2
	Centre       XY
}

// EllipseOf fits the ellipse of equal normalised second central moments: axes 4√λ of the area's
// covariance matrix, the definition that scikit-image's axis_major_length uses for masks.
func EllipseOf(outline []XY) Ellipse {
	c, xx, xy, yy := covariance(outline)
	mid, half := (xx+yy)/2, math.Hypot((xx-yy)/2, xy)
	return Ellipse{
		Major:  4 * math.Sqrt(max(mid+half, 0)),
		Minor:  4 * math.Sqrt(max(mid-half, 0)),
		Angle:  halfTurn(math.Atan2(2*xy, xx-yy) / 2),
		Centre: c,
	}
}

// covariance is the area's second central moments over its area.
func covariance(o []XY) (c XY, xx, xy, yy float64) {
	m := moments0(o)
	c = m.centroid
	n := len(o)
	lo, hi := Bounds(o)
	if n < 3 || flat(2*m.area, lo, hi) {
		return c, 0, 0, 0
	}
	p := sub(o[n-1], c)
	for _, v := range o {
		q := sub(v, c)
		k := p[0]*q[1] - q[0]*p[1]
		xx += k * (p[0]*p[0] + p[0]*q[0] + q[0]*q[0])
		yy += k * (p[1]*p[1] + p[1]*q[1] + q[1]*q[1])
		xy += k * (p[0]*q[1] + 2*p[0]*p[1] + 2*q[0]*q[1] + q[0]*p[1])
		p = q
	}
	return c, xx / (12 * m.area), xy / (24 * m.area), yy / (12 * m.area)
}
