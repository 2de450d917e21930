package scene

import (
	"math"
	"math/rand/v2"
)

// layout holds what is taken on the tray: a height raster of the plane.
type layout struct {
	lo     XY
	step   float64
	nx, ny int
	height []float32 // highest thing over the plane, mm; negative where nothing may lie
	field  []XY      // where centres may fall
	bound  []XY      // no part of a piece may lie outside it
	pieces []*piece
	cells  map[[2]int][]*piece // by 20 mm squares
}

const occupied = 1e6

func newLayout(lo, hi XY) *layout {
	l := &layout{lo: lo, step: 0.5, cells: map[[2]int][]*piece{}}
	l.nx, l.ny = int((hi[0]-lo[0])/l.step)+2, int((hi[1]-lo[1])/l.step)+2
	l.height = make([]float32, l.nx*l.ny)
	return l
}

// sweep visits the raster cells within grow of the outline or inside it, until f says stop.
func (l *layout) sweep(outline []XY, grow float64, f func(k int) bool) bool {
	lo, hi := bounds(outline)
	j0, j1 := int(math.Floor((lo[1]-grow-l.lo[1])/l.step)), int(math.Ceil((hi[1]+grow-l.lo[1])/l.step))
	for j := j0; j <= j1; j++ {
		y := l.lo[1] + float64(j)*l.step
		a, b := math.Inf(1), math.Inf(-1)
		for _, dy := range []float64{-grow, -grow / 2, 0, grow / 2, grow} {
			w := math.Sqrt(math.Max(0, grow*grow-dy*dy))
			if xs := crossings(outline, y+dy); len(xs) > 1 {
				a, b = math.Min(a, xs[0]-w), math.Max(b, xs[len(xs)-1]+w)
			}
		}
		for i := int(math.Floor((a - l.lo[0]) / l.step)); float64(i)*l.step+l.lo[0] <= b; i++ {
			if i < 0 || j < 0 || i >= l.nx || j >= l.ny {
				if !f(-1) {
					return false
				}
				continue
			}
			if !f(j*l.nx + i) {
				return false
			}
		}
	}
	return true
}

func (l *layout) block(outline []XY, grow float64) {
	l.sweep(outline, grow, func(k int) bool {
		if k >= 0 {
			l.height[k] = occupied
		}
		return true
	})
}

// free reports whether nothing lies within grow of the outline, and the outline within the field.
func (l *layout) free(outline []XY, grow float64) bool {
	return l.sweep(outline, grow, func(k int) bool { return k >= 0 && l.height[k] == 0 })
}

// within reports whether the outline keeps to the tray.
func (l *layout) within(outline []XY) bool {
	for i := 0; i < len(outline); i += 3 {
		if !inside(l.bound, outline[i]) {
			return false
		}
	}
	return true
}

// under is the highest thing below the outline; occupied where it may not lie.
func (l *layout) under(outline []XY) float64 {
	top := float32(0)
	l.sweep(outline, 0.2, func(k int) bool {
		if k >= 0 {
			top = max(top, l.height[k])
		}
		return true
	})
	return float64(top)
}

// lay puts the piece down where it stands.
func (l *layout) lay(p *piece) {
	top := float32(p.base + p.thick)
	l.sweep(p.worldOutline(), 0, func(k int) bool {
		if k >= 0 {
			l.height[k] = max(l.height[k], top)
		}
		return true
	})
	l.pieces = append(l.pieces, p)
	c := cellOf(p.pos)
	l.cells[c] = append(l.cells[c], p)
}

func cellOf(p XY) [2]int { return [2]int{int(math.Floor(p[0] / 20)), int(math.Floor(p[1] / 20))} }

// near are the pieces whose centre lies within r of p, in the order in which they were laid per square.
func (l *layout) near(p XY, r float64) []*piece {
	var out []*piece
	a, b := cellOf(XY{p[0] - r, p[1] - r}), cellOf(XY{p[0] + r, p[1] + r})
	for y := a[1]; y <= b[1]; y++ {
		for x := a[0]; x <= b[0]; x++ {
			out = append(out, l.cells[[2]int{x, y}]...)
		}
	}
	return out
}

func (p *piece) turn(angle float64) { p.cos, p.sin = math.Cos(angle), math.Sin(angle) }

// spot draws a point of the field.
func (l *layout) spot(g *rand.Rand) XY {
	lo, hi := bounds(l.field)
	for i := 0; i < 200; i++ {
		q := XY{mix(lo[0], hi[0], g.Float64()), mix(lo[1], hi[1], g.Float64())}
		if inside(l.field, q) {
			return q
		}
	}
	return Centroid(l.field)
}

// placeApart finds a free place; false when the tray is full.
func (l *layout) placeApart(p *piece, gapMM float64, g *rand.Rand) bool {
	for try := 0; try < 150; try++ {
		p.turn(g.Float64() * 2 * math.Pi)
		p.pos = l.spot(g)
		if out := p.worldOutline(); l.free(out, gapMM) && l.within(out) {
			l.lay(p)
			return true
		}
	}
	return false
}

// placeTouching slides the piece against another one until they touch, up to 0.3 mm into each other.
func (l *layout) placeTouching(p *piece, others []*piece, g *rand.Rand) bool {
	if len(others) == 0 {
		return false
	}
	for try := 0; try < 60; try++ {
		o := others[g.IntN(len(others))]
		p.turn(g.Float64() * 2 * math.Pi)
		way := unit(g.Float64() * 2 * math.Pi)
		target := o.worldOutline()
		at := func(d float64) float64 {
			p.pos = add(o.pos, scale(way, d))
			return gap(target, p.worldOutline())
		}
		lo, hi := 0.0, p.reach()+o.reach()
		for i := 0; i < 12; i++ {
			m := (lo + hi) / 2
			if at(m) > 0 {
				hi = m
			} else {
				lo = m
			}
		}
		p.pos = add(o.pos, scale(way, lo-0.3*g.Float64()*g.Float64()))
		if l.clearOf(p, o) {
			p.touching, o.touching = true, true
			l.lay(p)
			return true
		}
	}
	return false
}

// clearOf reports whether p overlaps nothing but o and lies within the field.
func (l *layout) clearOf(p, o *piece) bool {
	out := p.worldOutline()
	if !inside(l.field, p.pos) || l.under(out) >= occupied || !l.within(out) {
		return false
	}
	var touched []*piece
	for _, q := range l.near(p.pos, 45) {
		if q == o || dist(q.pos, p.pos) > q.reach()+p.reach()+0.4 {
			continue
		}
		switch d := gap(q.worldOutline(), out); {
		case d == 0:
			return false
		case d < 0.35:
			touched = append(touched, q)
		}
	}
	for _, q := range touched {
		q.touching = true
	}
	return true
}

// placeAcross lays the piece over another one, at an angle; false where no pair would stay recognisable.
func (l *layout) placeAcross(p *piece, others []*piece, g *rand.Rand) bool {
	if len(others) == 0 {
		return false
	}
	for try := 0; try < 40; try++ {
		o := others[g.IntN(len(others))]
		if o.crossing && chance(g, 0.7) {
			continue
		}
		turn := 0.5 + g.Float64()*2.1
		if !crossable(p, o, turn) {
			continue
		}
		angle := math.Atan2(o.sin, o.cos) + turn*float64(1-2*g.IntN(2))
		p.turn(angle)
		t := unit(math.Atan2(o.sin, o.cos))
		p.pos = add(add(o.pos, scale(t, (g.Float64()-0.5)*0.6*o.length)), scale(unit(angle), (g.Float64()-0.5)*0.6*p.length))
		out := p.worldOutline()
		base := l.under(out)
		if !inside(l.field, p.pos) || !l.within(out) || base >= occupied || base > 4 || gap(o.worldOutline(), out) > 0 {
			continue
		}
		also, ok := l.alsoCrossed(p, o, out)
		if !ok {
			continue
		}
		p.base = base
		for _, q := range also {
			q.touching, q.crossing = true, true
		}
		p.touching, o.touching, p.crossing, o.crossing = true, true, true, true
		l.lay(p)
		return true
	}
	return false
}

// alsoCrossed lists the pieces besides o that p overlaps; false where one of them would be lost to sight.
func (l *layout) alsoCrossed(p, o *piece, out []XY) (also []*piece, ok bool) {
	for _, q := range l.near(p.pos, 80) {
		if q == o || dist(q.pos, p.pos) > q.reach()+p.reach() || gap(q.worldOutline(), out) > 0 {
			continue
		}
		if !crossable(p, q, math.Asin(math.Abs(p.sin*q.cos-p.cos*q.sin))) {
			return nil, false
		}
		also = append(also, q)
	}
	return also, true
}

// crossable reports whether two pieces that cross at this angle (radians) both stay recognisable: neither covers more
// than a third of the other's length.
func crossable(p, o *piece, turn float64) bool {
	s := math.Sin(turn)
	return o.width < 0.33*s*p.length && p.width < 0.33*s*o.length
}

// placeAnywhere throws the piece onto what is there.
func (l *layout) placeAnywhere(p *piece, g *rand.Rand) bool {
	for try := 0; try < 50; try++ {
		p.turn(g.Float64() * 2 * math.Pi)
		p.pos = l.spot(g)
		if base := l.under(p.worldOutline()); base < occupied && l.within(p.worldOutline()) {
			p.base, p.touching = base*0.8, base > 0
			l.lay(p)
			return true
		}
	}
	return false
}
