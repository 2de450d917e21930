package shape

import "math"

const (
	cutBack   = 2.5 // in local half widths: past the branch into a corner of 45° or more
	cutAtMost = 0.34
	spacing   = 2.0  // cells between the points of the line
	noise     = 0.15 // cells: a bow of the line's end that may come from a ragged outline
)

// refine turns a path of cells into the centreline, in cells.
func (g *grid) refine(path []XY) []XY {
	n := max(int(Length(path)/spacing), 8) + 1
	line := g.cutEnds(blur(resampleLine(path, n), 1))
	if len(line) < 9 {
		line = resampleLine(line, 9)
	}
	g.recentre(line)
	line = blur(line, 1)
	g.recentre(line)
	line = calm(line)
	head, tail := g.extend(reversed(line), path[0]), g.extend(line, path[len(path)-1])
	return append(append(reversed(head), line...), tail...)
}

// blur averages each point of the open line with its neighbours, as many on both sides as there are up to
// r, twice; the ends stay.
func blur(line []XY, r int) []XY {
	for range 2 {
		out := make([]XY, len(line))
		for i := range line {
			k := min(r, i, len(line)-1-i)
			for _, p := range line[i-k : i+k+1] {
				out[i] = add(out[i], mul(p, 1/float64(2*k+1)))
			}
		}
		line = out
	}
	return line
}

// calm takes jitter off the line without cutting its bends: the blurred line and what blurring it again
// would take away.
func calm(line []XY) []XY {
	once := blur(line, 1)
	for i, p := range blur(once, 1) {
		once[i] = sub(mul(once[i], 2), p)
	}
	return once
}

func reversed(line []XY) []XY {
	out := make([]XY, len(line))
	for i, p := range line {
		out[len(line)-1-i] = p
	}
	return out
}

// radius is the distance from the edge at p, cells.
func (g *grid) radius(p XY) float64 { return max(float64(g.depth[g.at(p)])/3-0.5, 0.5) }

// cutEnds cuts both ends of the line back by cutBack times the half width there.
func (g *grid) cutEnds(line []XY) []XY {
	total := Length(line)
	from := g.centred(line, total)
	to := len(line) - g.centred(reversed(line), total)
	if to-from < 3 {
		from, to = len(line)/2-1, len(line)/2+2
	}
	return line[from:to]
}

// centred is the first point from the start that is far enough from it.
func (g *grid) centred(line []XY, total float64) int {
	s := 0.0
	for i := 1; i < len(line); i++ {
		s += dist(line[i-1], line[i])
		if s >= cutBack*(g.radius(line[i])+0.5)+1.5 && Contains(g.outline, line[i]) || s >= cutAtMost*total {
			return i
		}
	}
	return 0
}

// recentre moves each point to the middle of the chord across the line. Where the chord runs off into a
// branch or a bay, the shift is taken between those of the neighbours.
func (g *grid) recentre(line []XY) {
	n := len(line)
	across, shift, ok := make([]XY, n), make([]float64, n), make([]bool, n)
	for i, p := range line {
		u := unit(sub(line[min(i+2, n-1)], line[max(i-2, 0)]))
		across[i] = XY{-u[1], u[0]}
		ahead, behind := gap(g.outline, p, across[i])
		r := g.radius(p)
		shift[i] = (ahead - behind) / 2
		ok[i] = ahead+behind < 2.5*r+2 && math.Abs(shift[i]) < 0.6*r+1
	}
	bridge(shift, ok)
	for i := range line {
		line[i] = add(line[i], mul(across[i], shift[i]))
	}
}

// bridge fills in the values that are not ok, evenly between the nearest that are; with 0 if none is.
func bridge(v []float64, ok []bool) {
	last := -1
	for i := 0; i <= len(v); i++ {
		if i < len(v) && !ok[i] {
			continue
		}
		for k := last + 1; k < i; k++ {
			switch {
			case last < 0 && i == len(v):
				v[k] = 0
			case last < 0:
				v[k] = v[i]
			case i == len(v):
				v[k] = v[last]
			default:
				v[k] = v[last] + (v[i]-v[last])*float64(k-last)/float64(i-last)
			}
		}
		last = i
	}
}

// extend carries the line on from its last point towards the tip and to the outline: step by step along
// an arc fitted to its last points, kept in the middle between the sides as far as these run on, that
// is until the middle jumps by more than a thirtieth of the width in a step of a cell.
func (g *grid) extend(line []XY, tip XY) (more []XY) {
	const step = 1.0
	start := line[len(line)-1]
	if g.radius(start) < 0.15*cellsAcross {
		return []XY{g.vertexNear(tip, start)} // pointed
	}
	line = append([]XY(nil), recent(line)...)
	sides := true
	for far := 1.3*dist(start, tip) + 4; far > 0; far -= step {
		p, u, bend := endOf(recent(line))
		s, c := math.Sincos(bend * step / 2)
		u = XY{u[0]*c - u[1]*s, u[0]*s + u[1]*c}
		if ahead, _ := gap(g.outline, p, u); ahead <= 1.3*step { // a little more, lest the outline fall between two steps
			return append(more, add(p, mul(u, ahead)))
		}
		p = add(p, mul(u, step))
		if sides {
			p, sides = g.middle(p, XY{u[0]*c - u[1]*s, u[0]*s + u[1]*c})
			if !sides && len(more) > 0 { // the last one may be off already
				line, more = line[:len(line)-1], more[:len(more)-1]
				continue
			}
		}
		line, more = append(line, p), append(more, p)
	}
	return []XY{g.vertexNear(tip, start)}
}

// recent are the line's last points over one and a half widths, at least five.
func recent(line []XY) []XY {
	i := len(line) - 1
	for s := 0.0; i > 0 && (s < 1.5*cellsAcross || len(line)-i < 5); i-- {
		s += dist(line[i], line[i-1])
	}
	return line[i:]
}

// middle moves p to the middle of the chord across u, unless that is too far off for a side that runs on.
func (g *grid) middle(p, u XY) (q XY, ok bool) {
	const most = 0.03 * cellsAcross
	across := XY{-u[1], u[0]}
	ahead, behind := gap(g.outline, p, across)
	shift := (ahead - behind) / 2
	if !(math.Abs(shift) <= most) {
		return p, false
	}
	return add(p, mul(across, shift)), true
}

// vertexNear is the outline's point within two cells of the tip that is farthest from the line's end, or
// the tip.
func (g *grid) vertexNear(tip, from XY) XY {
	best, at := -1.0, tip
	for _, p := range g.outline {
		if dist(p, tip) <= 2 && dist(p, from) > best {
			best, at = dist(p, from), p
		}
	}
	return at
}

// endOf is the position, direction and curvature (rad per cell) at the last of the points, by least
// squares of a parabola in the arc length, less bent where the bow is hardly more than noise; of a
// straight line where there are fewer than five points.
func endOf(points []XY) (p, u XY, bend float64) {
	n := len(points)
	last := points[n-1]
	var m [5]float64 // sums of s^k, s <= 0 from the last point
	var b [3]XY
	s := 0.0
	for i := n - 1; i >= 0; i-- {
		d := sub(points[i], last)
		for k, w := 0, 1.0; k < 5; k, w = k+1, w*s {
			m[k] += w
			if k < 3 {
				b[k] = add(b[k], mul(d, w))
			}
		}
		if i > 0 {
			s -= dist(points[i], points[i-1])
		}
	}
	if n < 5 {
		det := m[0]*m[2] - m[1]*m[1]
		v := mul(sub(mul(b[1], m[0]), mul(b[0], m[1])), 1/det)
		return last, unit(v), 0
	}
	pos, v, a := parabola(m, b)
	speed := norm(v)
	if !(speed > 0.5) {
		return last, unit(sub(last, points[0])), 0
	}
	bend = 2 * cross(v, a) / (speed * speed * speed)
	sagitta := bend * s * s / 8
	bend *= sagitta * sagitta / (sagitta*sagitta + noise*noise)
	return add(last, pos), unit(v), min(max(bend, -0.5/cellsAcross), 0.5/cellsAcross)
}

// parabola solves the normal equations of c0 + c1·s + c2·s² by Cramer's rule.
func parabola(m [5]float64, b [3]XY) (c0, c1, c2 XY) {
	det3 := func(a, b, c [3]float64) float64 {
		return a[0]*(b[1]*c[2]-b[2]*c[1]) - b[0]*(a[1]*c[2]-a[2]*c[1]) + c[0]*(a[1]*b[2]-a[2]*b[1])
	}
	x, y, z := [3]float64{m[0], m[1], m[2]}, [3]float64{m[1], m[2], m[3]}, [3]float64{m[2], m[3], m[4]}
	det := det3(x, y, z)
	for k := range 2 {
		r := [3]float64{b[0][k], b[1][k], b[2][k]}
		c0[k], c1[k], c2[k] = det3(r, y, z)/det, det3(x, r, z)/det, det3(x, y, r)/det
	}
	return
}
