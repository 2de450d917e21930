package shape

import "math"

// Shapes for the tests, each with its closed forms.

const deg = math.Pi / 180

func rectangle(l, w float64) []XY { return []XY{{0, 0}, {l, 0}, {l, w}, {0, w}} }

// ellipse has full axes a and b.
func ellipse(a, b float64, n int) (o []XY) {
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		o = append(o, XY{a / 2 * c, b / 2 * s})
	}
	return o
}

// lessCorner is a 3 × 3 square less a 2 × 2 corner.
func lessCorner() []XY { return []XY{{0, 0}, {3, 0}, {3, 1}, {1, 1}, {1, 3}, {0, 3}} }

// strip is the outline of a strip of the given width about a line, both ends slanted by the angle from
// square.
func strip(line []XY, width, slant float64) []XY {
	var l, r []XY
	for i, p := range line {
		u := unit(sub(line[min(i+1, len(line)-1)], line[max(i-1, 0)]))
		if i == 0 || i == len(line)-1 {
			u = endTangent(line, i)
		}
		side := mul(XY{-u[1], u[0]}, width/2)
		if i == 0 || i == len(line)-1 {
			side = add(side, mul(u, math.Tan(slant)*width/2))
		}
		l, r = append(l, add(p, side)), append(r, sub(p, side))
	}
	return append(l, reversed(r)...)
}

// endTangent is the direction at an end of a line that turns evenly.
func endTangent(line []XY, i int) XY {
	n := len(line)
	if n < 3 {
		return unit(sub(line[n-1], line[0]))
	}
	if i == 0 {
		a, b := unit(sub(line[1], line[0])), unit(sub(line[2], line[1]))
		return unit(sub(mul(a, 3), b))
	}
	a, b := unit(sub(line[n-1], line[n-2])), unit(sub(line[n-2], line[n-3]))
	return unit(sub(mul(a, 3), b))
}

func straight(length float64) []XY { return []XY{{0, 0}, {length, 0}} }

func arc(radius, length float64) (line []XY) {
	for i := range 61 {
		s, c := math.Sincos(length / radius * float64(i) / 60)
		line = append(line, XY{radius * s, radius * (1 - c)})
	}
	return line
}

// moved turns an outline about the origin, scales it, and shifts it.
func moved(o []XY, angle, scale float64, by XY) []XY {
	s, c := math.Sincos(angle)
	out := make([]XY, len(o))
	for i, p := range o {
		out[i] = add(by, mul(XY{p[0]*c - p[1]*s, p[0]*s + p[1]*c}, scale))
	}
	return out
}

func turned(o []XY, angle float64) []XY { return moved(o, angle, 1, XY{31.7, 12.1}) }
