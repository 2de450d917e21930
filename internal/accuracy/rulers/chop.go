package rulers

import (
	"math"
	"math/rand/v2"
)

// piece is a flat piece of chop: a straw, or an oval one.
type piece struct {
	at       XY
	cos, sin float64
	half     XY // half its length and width, mm
	oval     bool
	light    tint
	reach    float64 // half its diagonal
}

func (p *piece) holds(mm XY) bool {
	x, y := mm[0]-p.at[0], mm[1]-p.at[1]
	u, v := (p.cos*x+p.sin*y)/p.half[0], (-p.sin*x+p.cos*y)/p.half[1]
	if p.oval {
		return u*u+v*v < 1
	}
	return math.Abs(u) < 1 && math.Abs(v) < 1
}

// chop is strewn pieces, found by the cells of a box.
type chop struct {
	low    XY
	nx, ny int
	cells  [][]*piece
}

const cellMM = 12

var chopTints = []tint{rgb(214, 190, 120), rgb(196, 170, 96), rgb(226, 206, 150), rgb(150, 160, 80), rgb(230, 190, 60), rgb(120, 140, 70)}

// strew lays pieces on a box until they would hide a share of it if none lay on another; where keep refuses a
// piece's middle, it is left out.
func strew(r *rand.Rand, low, high XY, share float64, keep func(mm XY) bool) *chop {
	c := &chop{low: low, nx: int((high[0]-low[0])/cellMM) + 1, ny: int((high[1]-low[1])/cellMM) + 1}
	c.cells = make([][]*piece, c.nx*c.ny)
	room := (high[0] - low[0]) * (high[1] - low[1]) * share
	for laid := 0.0; laid < room; {
		s, k := math.Sincos(r.Float64() * math.Pi)
		p := &piece{at: XY{low[0] + r.Float64()*(high[0]-low[0]), low[1] + r.Float64()*(high[1]-low[1])}, cos: k, sin: s, light: chopTints[r.IntN(len(chopTints))].times(0.8 + 0.3*r.Float32())}
		switch r.IntN(3) {
		case 0:
			p.half = XY{3 + 15*r.Float64(), 1 + 2*r.Float64()}
		case 1:
			p.half, p.oval = XY{4 + 2*r.Float64(), 3 + r.Float64()}, true
		default:
			p.half, p.oval = XY{4 + 9*r.Float64(), 3 + 4*r.Float64()}, true
		}
		laid += 3.6 * p.half[0] * p.half[1]
		p.reach = math.Hypot(p.half[0], p.half[1])
		if keep == nil || keep(p.at) {
			c.put(p)
		}
	}
	return c
}

func (c *chop) put(p *piece) {
	x0, x1 := c.index(p.at[0]-p.reach, 0), c.index(p.at[0]+p.reach, 0)
	y0, y1 := c.index(p.at[1]-p.reach, 1), c.index(p.at[1]+p.reach, 1)
	for x := max(0, x0); x <= min(x1, c.nx-1); x++ {
		for y := max(0, y0); y <= min(y1, c.ny-1); y++ {
			c.cells[y*c.nx+x] = append(c.cells[y*c.nx+x], p)
		}
	}
}

func (c *chop) index(v float64, axis int) int { return int(math.Floor((v - c.low[axis]) / cellMM)) }

// surface is the pieces, later ones on earlier.
func (c *chop) surface(mm XY) (tint, bool) {
	x, y := c.index(mm[0], 0), c.index(mm[1], 1)
	if x < 0 || y < 0 || x >= c.nx || y >= c.ny {
		return tint{}, false
	}
	here := c.cells[y*c.nx+x]
	for i := len(here) - 1; i >= 0; i-- {
		if here[i].holds(mm) {
			return here[i].light, true
		}
	}
	return tint{}, false
}

// shadowed darkens what lies under the pieces' shadows, which fall aside by a mm or so.
func (c *chop) shadowed(under surface, aside XY) surface {
	return func(mm XY) (tint, bool) {
		t, ok := under(mm)
		if ok {
			if _, dark := c.surface(XY{mm[0] - aside[0], mm[1] - aside[1]}); dark {
				t = t.times(0.55)
			}
		}
		return t, ok
	}
}
