package calib

import (
	"bytes"
	"math"

	"gristmark/internal/result"
)

// Limits of straight pieces of chains of edge pixels.
const (
	chainPx  = 8    // length of the shortest piece
	chainOff = 1.41 // px that a pixel may lie beside its piece's line
	rimPx    = 5    // what runs along the rim of the picture so near is no edge
	isEdge   = 255
)

// chains splits chains of edge pixels into straight pieces (after Lee et al. 2014): each pixel in turn starts a
// chain that follows its neighbours while their direction changes little. edges comes back
// empty. Positions are px of the picture, pixel centres at +0.5.
func (edges grey) chains() []segment {
	var out []segment
	var chain []result.XY
	for at := 0; ; at++ {
		n := bytes.IndexByte(edges.pix[at:], isEdge)
		if n < 0 {
			return out
		}
		at += n
		chain = edges.follow(at, chain[:0])
		out = edges.straight(chain, out)
	}
}

// around are the eight neighbours of a pixel, turning: steps along x and y.
var around = [8][2]int{{1, 1}, {0, 1}, {-1, 1}, {-1, 0}, {-1, -1}, {0, -1}, {1, -1}, {1, 0}}

// follow takes the chain that starts at a pixel out of the edges.
func (edges grey) follow(at int, chain []result.XY) []result.XY {
	x, y := at%edges.width, at/edges.width
	way := 0.0 // mean direction so far, in eighths of a turn
	for step := 0; ; step++ {
		chain = append(chain, result.XY{float64(x) + 0.5, float64(y) + 0.5})
		edges.pix[y*edges.width+x] = 0
		next, ok := edges.next(x, y, way, step == 0)
		if !ok {
			return chain
		}
		x, y = x+around[next][0], y+around[next][1]
		way = (way*float64(step) + eighths(next)) / float64(step+1)
	}
}

// eighths is the direction of a neighbour, -3 to 4.
func eighths(k int) float64 {
	if k > 4 {
		k -= 8
	}
	return float64(k)
}

// next is the neighbour with the direction nearest to the chain's, any of them for its first pixel.
func (edges grey) next(x, y int, way float64, first bool) (next int, ok bool) {
	least := 2.0
	for k, d := range around {
		u, v := x+d[0], y+d[1]
		if u < 0 || v < 0 || u >= edges.width || v >= edges.height || edges.pix[v*edges.width+u] != isEdge {
			continue
		}
		if first {
			return k, true
		}
		turn := math.Abs(eighths(k) - way)
		if turn > 4 {
			turn = 8 - turn
		}
		if turn < least {
			least, next, ok = turn, k, true
		}
	}
	return next, ok
}

// straight adds the straight pieces of a chain to out.
func (edges grey) straight(chain []result.XY, out []segment) []segment {
	for i := 0; i+chainPx < len(chain); i++ {
		if !chord(chain[i : i+chainPx+1]) {
			continue
		}
		end, s := longest(chain, i)
		if s.length() >= chainPx && !edges.onRim(s) {
			out = append(out, s)
		}
		i = end - 1
	}
	return out
}

// chord reports whether the points lie beside the line from the first to the last of them.
func chord(p []result.XY) bool {
	d := sub(p[len(p)-1], p[0])
	most := chainOff * math.Hypot(d[0], d[1])
	for _, q := range p[1 : len(p)-1] {
		if math.Abs(cross(d, sub(q, p[0]))) > most {
			return false
		}
	}
	return true
}

// longest extends the piece that starts at i as far as pixels lie beside its line; it gives the place after it.
func longest(chain []result.XY, i int) (end int, s segment) {
	var m moments
	for _, q := range chain[i : i+chainPx+1] {
		m.add(q)
	}
	mid, dir := m.line()
	for end = i + chainPx + 1; end < len(chain); end++ {
		q := chain[end]
		if math.Abs(cross(dir, sub(q, mid))) > chainOff {
			mid, dir = m.line()
			if math.Abs(cross(dir, sub(q, mid))) > chainOff {
				break
			}
		}
		m.add(q)
	}
	mid, dir = m.line()
	foot := func(q result.XY) result.XY { return add(mid, dir, dot(dir, sub(q, mid))) }
	return end, segment{foot(chain[i]), foot(chain[end-1])}
}

// onRim reports whether both ends lie at one rim of the picture.
func (edges grey) onRim(s segment) bool {
	w, h := float64(edges.width)-rimPx, float64(edges.height)-rimPx
	both := func(k int, beyond func(v float64) bool) bool { return beyond(s.a[k]) && beyond(s.b[k]) }
	low := func(v float64) bool { return v <= rimPx }
	return both(0, low) || both(1, low) || both(0, func(v float64) bool { return v >= w }) || both(1, func(v float64) bool { return v >= h })
}

// moments are sums over points, for the straight line of least squares across it.
type moments struct{ n, x, y, xx, xy, yy float64 }

func (m *moments) add(q result.XY) {
	m.n++
	m.x, m.y = m.x+q[0], m.y+q[1]
	m.xx, m.xy, m.yy = m.xx+q[0]*q[0], m.xy+q[0]*q[1], m.yy+q[1]*q[1]
}

// line is the points' middle and the direction of the line through it.
func (m *moments) line() (middle, dir result.XY) {
	middle = result.XY{m.x / m.n, m.y / m.n}
	a, b, c := m.xx/m.n-middle[0]*middle[0], m.xy/m.n-middle[0]*middle[1], m.yy/m.n-middle[1]*middle[1]
	s, k := math.Sincos(math.Atan2(2*b, a-c) / 2)
	return middle, result.XY{k, s}
}
