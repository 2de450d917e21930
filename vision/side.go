package vision

import (
	"math"

	"gristmark/internal/result"
)

// Limits of the sides of pieces that pass another piece.
const (
	sideReachMM  = 2.6  // how far a side is followed
	roundedMM    = 0.3  // of the outline at a hollow that says nothing of the side
	atCorner     = 0.6  // radians that the outline bulges
	leastOnSide  = 3    // points that tell a line: no more are seen of the arms of straws of a few millimetres
	mostOffMM    = 0.6  // root mean square distance from it
	filledMM     = 2.0  // of a side beside a hollow that may be shadow and blur
	filledOverMM = 0.03 // by which it lies outside of the side's line
)

// sides are the sides of pieces along an outline.
type sides struct {
	line    []result.XY // clockwise
	turn    []float64   // as turning tells
	pxPerMM float64
}

// side is the side of a piece that another one interrupts: it comes along the outline from point from, is seen until
// last, and again from next on, towards to.
type side struct{ from, last, next, to int }

// straightLine is a line through a point along a unit vector; rms is how far points lie off it.
type straightLine struct {
	at, along result.XY
	rms       float64
}

// offMM is how far the side lies off one straight line, root mean square: infinite beyond mostOffMM, which stands for
// a side too short to tell.
func (s *sides) offMM(c side) float64 {
	l, ok := s.lineOf(c)
	if !ok {
		return mostOffMM
	}
	if off := l.rms / s.pxPerMM; off <= mostOffMM {
		return off
	}
	return math.Inf(1)
}

// lineOf is the line that the side runs along on both sides of the interruption.
func (s *sides) lineOf(c side) (l straightLine, ok bool) {
	m := moments{about: s.line[c.last]}
	first := s.addAlong(&m, c.last, c.from, -1)
	last := s.addAlong(&m, c.next, c.to, 1)
	if m.n < leastOnSide {
		return l, false
	}
	return m.line().headed(first, last), true
}

// addAlong adds the outline's points from i on in steps of dir, up to a corner or the middle of the way to point end,
// and returns the last of them, or i.
func (s *sides) addAlong(m *moments, i, end, dir int) result.XY {
	n := len(s.line)
	from := s.line[i]
	last := from
	for k := range ((end-i)*dir%n+n)%n/2 + 1 {
		j := ((i+dir*k)%n + n) % n
		d := dist(s.line[j], from)
		if d > sideReachMM*s.pxPerMM || s.turn[j] > atCorner {
			break
		}
		if d >= roundedMM*s.pxPerMM {
			last = s.line[j]
			m.add(last)
		}
	}
	return last
}

// moments are sums over points, about one of them so that no digits are lost.
type moments struct {
	about               result.XY
	n, x, y, xx, xy, yy float64
}

func (m *moments) add(p result.XY) {
	x, y := p[0]-m.about[0], p[1]-m.about[1]
	m.n, m.x, m.y, m.xx, m.xy, m.yy = m.n+1, m.x+x, m.y+y, m.xx+x*x, m.xy+x*y, m.yy+y*y
}

// line is that of least squares, across it.
func (m *moments) line() straightLine {
	x, y := m.x/m.n, m.y/m.n
	xx, xy, yy := m.xx/m.n-x*x, m.xy/m.n-x*y, m.yy/m.n-y*y
	least := (xx+yy)/2 - math.Hypot((xx-yy)/2, xy)
	t := math.Atan2(2*xy, xx-yy) / 2
	return straightLine{result.XY{m.about[0] + x, m.about[1] + y}, result.XY{math.Cos(t), math.Sin(t)}, math.Sqrt(math.Max(0, least))}
}

// headed is the line in the sense from the one point to the other.
func (l straightLine) headed(from, to result.XY) straightLine {
	if dot(result.XY{to[0] - from[0], to[1] - from[1]}, l.along) < 0 {
		l.along = result.XY{-l.along[0], -l.along[1]}
	}
	return l
}

// outside is how far p lies off the line on the outer hand of a clockwise outline, y down.
func (l straightLine) outside(p result.XY) float64 {
	return (p[0]-l.at[0])*l.along[1] - (p[1]-l.at[1])*l.along[0]
}

// sharpened are the last point of the side before the interruption and the first after it that lie on its line: shadow
// and blur fill the hollows, so that the outline leaves the side before it reaches them.
func (s *sides) sharpened(c side) (last, next int) {
	l, ok := s.lineOf(c)
	if !ok {
		return c.last, c.next
	}
	return s.onLine(l, c.last, c.from, -1), s.onLine(l, c.next, c.to, 1)
}

// onLine goes from i towards end until the outline is on the line; it stays at i if that is far.
func (s *sides) onLine(l straightLine, i, end, dir int) int {
	n := len(s.line)
	for k := range ((end-i)*dir%n+n)%n/3 + 1 {
		j := ((i+dir*k)%n + n) % n
		if dist(s.line[i], s.line[j]) > filledMM*s.pxPerMM {
			break
		}
		if l.outside(s.line[j]) < filledOverMM*s.pxPerMM {
			return j
		}
	}
	return i
}

// reachMM is how far the outline from point a to b reaches beyond the line between them.
func (s *sides) reachMM(a, b int) float64 {
	n := len(s.line)
	out := outward(s.line[a], s.line[b])
	far := 0.0
	for i := a; i != b; i = (i + 1) % n {
		far = max(far, dot(result.XY{s.line[i][0] - s.line[a][0], s.line[i][1] - s.line[a][1]}, out))
	}
	return far / s.pxPerMM
}
