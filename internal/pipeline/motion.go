package pipeline

import (
	"math"

	"gristmark/internal/result"
)

// motion is a rotation by the angle of (cos, sin) and a shift, on the tray plane in mm.
type motion struct {
	cos, sin float64
	shift    result.XY
}

func (m motion) apply(p result.XY) result.XY {
	return result.XY{m.cos*p[0] - m.sin*p[1] + m.shift[0], m.sin*p[0] + m.cos*p[1] + m.shift[1]}
}

func (m motion) inverse() motion {
	r := motion{cos: m.cos, sin: -m.sin}
	s := r.apply(m.shift)
	r.shift = result.XY{-s[0], -s[1]}
	return r
}

// motionOf carries the segment a0 a1 onto b0 b1, middle onto middle.
func motionOf(a0, a1, b0, b1 result.XY) motion {
	turn := math.Atan2(b1[1]-b0[1], b1[0]-b0[0]) - math.Atan2(a1[1]-a0[1], a1[0]-a0[0])
	return about(turn, result.XY{(a0[0] + a1[0]) / 2, (a0[1] + a1[1]) / 2}, result.XY{(b0[0] + b1[0]) / 2, (b0[1] + b1[1]) / 2})
}

// about turns about from and carries it to to.
func about(turn float64, from, to result.XY) motion {
	m := motion{cos: math.Cos(turn), sin: math.Sin(turn)}
	p := m.apply(from)
	m.shift = result.XY{to[0] - p[0], to[1] - p[1]}
	return m
}

// fitMotion is the least-squares rigid motion over matched pieces (Kabsch 1976, Acta Crystallographica
// A 32:922, in the plane).
func fitMotion(a, b []spot, pairs [][2]int) motion {
	var ca, cb result.XY
	n := float64(len(pairs))
	for _, p := range pairs {
		for k := range 2 {
			ca[k] += a[p[0]].at[k] / n
			cb[k] += b[p[1]].at[k] / n
		}
	}
	var dot, cross float64
	for _, p := range pairs {
		u := result.XY{a[p[0]].at[0] - ca[0], a[p[0]].at[1] - ca[1]}
		v := result.XY{b[p[1]].at[0] - cb[0], b[p[1]].at[1] - cb[1]}
		dot += u[0]*v[0] + u[1]*v[1]
		cross += u[0]*v[1] - u[1]*v[0]
	}
	return about(math.Atan2(cross, dot), ca, cb)
}

// spotGrid finds pieces by place.
type spotGrid struct {
	spots []spot
	cells map[[2]int][]int
}

func newSpotGrid(spots []spot) spotGrid {
	g := spotGrid{spots, map[[2]int][]int{}}
	for i, s := range spots {
		c := cellOf(s.at)
		g.cells[c] = append(g.cells[c], i)
	}
	return g
}

func cellOf(p result.XY) [2]int {
	return [2]int{int(math.Floor(p[0] / spreadReachMM)), int(math.Floor(p[1] / spreadReachMM))}
}

// agree reports whether at least so many pieces of a, moved, have one alike within reach.
func (g spotGrid) agree(a []spot, m motion, least int) bool {
	n := 0
	for i, s := range a {
		if g.nearest(m.apply(s.at), s, nil) >= 0 {
			n++
		}
		if n >= least || n+len(a)-1-i < least {
			break
		}
	}
	return n >= least
}

// matches pairs each piece of a, moved, with the nearest piece alike within reach; none twice.
func (g spotGrid) matches(a []spot, m motion) [][2]int {
	var out [][2]int
	taken := make([]bool, len(g.spots))
	for i, s := range a {
		if best := g.nearest(m.apply(s.at), s, taken); best >= 0 {
			taken[best] = true
			out = append(out, [2]int{i, best})
		}
	}
	return out
}

// nearest is the nearest piece like s within reach of p that is not taken, or -1.
func (g spotGrid) nearest(p result.XY, s spot, taken []bool) int {
	c := cellOf(p)
	best, bestD := -1, spreadReachMM
	for dx := -1; dx <= 1; dx++ {
		for dy := -1; dy <= 1; dy++ {
			for _, k := range g.cells[[2]int{c[0] + dx, c[1] + dy}] {
				t := g.spots[k]
				if d := math.Hypot(t.at[0]-p[0], t.at[1]-p[1]); d < bestD && alike(s, t) && (taken == nil || !taken[k]) {
					best, bestD = k, d
				}
			}
		}
	}
	return best
}
