package scene

import "math"

// solid is a piece in its local frame as a grid: signed distance to the outline, half thickness and height of the
// middle surface before the rounding of the edge, and reflectance.
type solid struct {
	lo     XY
	step   float64
	nu, nv int
	cell   []float32 // 3 a node: signed distance (inside > 0), half, mid
	colour []float32 // 3 a node
	round  float64   // radius of the rounded edge, mm
	top    float64   // highest point over the base
	thin   float64   // smallest half thickness, sets the ray's step
	gloss  float64   // specular reflectance
	shine  float64   // specular exponent
}

// skin gives half thickness, height of the middle surface and reflectance at a local point;
// sd is the distance to the outline, fd to the nearest broken edge (large when none).
type skin func(u, v, sd, fd float64) (half, mid float64, c rgb)

// edgeZone is how far from the outline skins may still tell the distance, mm.
const edgeZone = 1.8

// newSolid samples a skin over an outline. Nothing but the grid's step limits its fidelity.
func newSolid(outline []XY, fracture []bool, step, round, near float64, f skin) *solid {
	lo, hi := bounds(outline)
	s := &solid{step: step, round: round, thin: math.Inf(1)}
	s.lo = XY{lo[0] - 2*step, lo[1] - 2*step}
	s.nu, s.nv = int((hi[0]-lo[0])/step)+5, int((hi[1]-lo[1])/step)+5
	sd := s.distances(outline, nil, math.Max(round+3*step, edgeZone))
	fd := s.distances(outline, fracture, near)
	s.cell, s.colour = make([]float32, 3*len(sd)), make([]float32, 3*len(sd))
	for j := 0; j < s.nv; j++ {
		for i := 0; i < s.nu; i++ {
			k := j*s.nu + i
			s.cell[3*k] = float32(sd[k])
			if sd[k] < -2.9*step {
				continue
			}
			h, m, c := f(s.lo[0]+float64(i)*step, s.lo[1]+float64(j)*step, sd[k], math.Abs(fd[k]))
			s.cell[3*k+1], s.cell[3*k+2] = float32(h), float32(m)
			for b := range c {
				s.colour[3*k+b] = float32(c[b])
			}
			if sd[k] > 0 {
				s.top, s.thin = math.Max(s.top, m+h), math.Min(s.thin, h)
			}
		}
	}
	return s
}

// distances to the outline's edges (only those marked, when marks are given), signed, capped at ±limit.
func (s *solid) distances(outline []XY, only []bool, limit float64) []float64 {
	d := make([]float64, s.nu*s.nv)
	for k := range d {
		d[k] = limit
	}
	for i, a := range outline {
		if only != nil && !only[i] {
			continue
		}
		s.stamp(d, a, outline[(i+1)%len(outline)], limit)
	}
	for j := 0; j < s.nv; j++ {
		y := s.lo[1] + float64(j)*s.step
		row := crossings(outline, y)
		at, in := 0, false
		for i := 0; i < s.nu; i++ {
			x := s.lo[0] + float64(i)*s.step
			for at < len(row) && row[at] < x {
				at, in = at+1, !in
			}
			if !in {
				d[j*s.nu+i] = -d[j*s.nu+i]
			}
		}
	}
	return d
}

func (s *solid) stamp(d []float64, a, b XY, limit float64) {
	i0 := max(0, int((math.Min(a[0], b[0])-limit-s.lo[0])/s.step))
	i1 := min(s.nu-1, int((math.Max(a[0], b[0])+limit-s.lo[0])/s.step)+1)
	j0 := max(0, int((math.Min(a[1], b[1])-limit-s.lo[1])/s.step))
	j1 := min(s.nv-1, int((math.Max(a[1], b[1])+limit-s.lo[1])/s.step)+1)
	e := sub(b, a)
	inv := 1 / math.Max(1e-12, dot(e, e))
	for j := j0; j <= j1; j++ {
		for i := i0; i <= i1; i++ {
			p := XY{s.lo[0] + float64(i)*s.step - a[0], s.lo[1] + float64(j)*s.step - a[1]}
			t := clamp(dot(p, e)*inv, 0, 1)
			x, y := p[0]-t*e[0], p[1]-t*e[1]
			if r := x*x + y*y; r < d[j*s.nu+i]*d[j*s.nu+i] {
				d[j*s.nu+i] = math.Sqrt(r)
			}
		}
	}
}

// crossings of the outline with a horizontal line, sorted.
func crossings(poly []XY, y float64) []float64 {
	var xs []float64
	for i, a := range poly {
		b := poly[(i+1)%len(poly)]
		if (a[1] > y) == (b[1] > y) {
			continue
		}
		x := a[0] + (b[0]-a[0])*(y-a[1])/(b[1]-a[1])
		k := len(xs)
		xs = append(xs, x)
		for k > 0 && xs[k-1] > x {
			xs[k] = xs[k-1]
			k--
		}
		xs[k] = x
	}
	return xs
}

// at interpolates the grid; outside it sd is negative.
func (s *solid) at(u, v float64) (sd, half, mid float64) {
	x, y := (u-s.lo[0])/s.step, (v-s.lo[1])/s.step
	if x < 0 || y < 0 || x >= float64(s.nu-1) || y >= float64(s.nv-1) {
		return -1, 0, 0
	}
	i, j := int(x), int(y)
	a, b := float32(x-float64(i)), float32(y-float64(j))
	k := 3 * (j*s.nu + i)
	l := k + 3*s.nu
	p, q := s.cell[k:k+6:k+6], s.cell[l:l+6:l+6]
	var out [3]float32
	for n := range out {
		t := p[n] + (p[n+3]-p[n])*a
		w := q[n] + (q[n+3]-q[n])*a
		out[n] = t + (w-t)*b
	}
	return float64(out[0]), float64(out[1]), float64(out[2])
}

// recolour changes the colour of every node.
func (s *solid) recolour(to func(rgb) rgb) {
	for k := 0; k+2 < len(s.colour); k += 3 {
		c := to(rgb{float64(s.colour[k]), float64(s.colour[k+1]), float64(s.colour[k+2])})
		for b := range c {
			s.colour[k+b] = float32(c[b])
		}
	}
}

func (s *solid) colourAt(u, v float64) rgb {
	x := clamp((u-s.lo[0])/s.step, 0, float64(s.nu)-1.001)
	y := clamp((v-s.lo[1])/s.step, 0, float64(s.nv)-1.001)
	i, j := int(x), int(y)
	a, b := x-float64(i), y-float64(j)
	k := 3 * (j*s.nu + i)
	l := k + 3*s.nu
	var c rgb
	for n := range c {
		t := mix(float64(s.colour[k+n]), float64(s.colour[k+3+n]), a)
		w := mix(float64(s.colour[l+n]), float64(s.colour[l+3+n]), a)
		c[n] = t + (w-t)*b
	}
	return c
}

// swell is the share of the half thickness reached at distance sd from the outline: a quarter circle.
func (s *solid) swell(sd float64) float64 {
	if sd <= 0 {
		return 0
	}
	if sd >= s.round {
		return 1
	}
	t := 1 - sd/s.round
	return math.Sqrt(1 - t*t)
}

// height of the upper surface over the base, 0 outside.
func (s *solid) height(u, v float64) float64 {
	sd, half, mid := s.at(u, v)
	if sd <= 0 {
		return 0
	}
	return mid + half*s.swell(sd)
}

// cast follows the ray q + z·lean down from the top; it returns the height of the first hit over the base. Near the outline the solid is
// thinner than a step: there a ray hits that passes its middle surface inside of the outline.
func (s *solid) cast(q, lean XY) (z float64, hit bool) {
	dz := clamp(1.2*s.thin, 0.12, 0.4)
	n := int(s.top/dz) + 1
	dz = s.top / float64(n)
	prev, over := s.top+0.01, true
	for k := 0; k <= n; k++ {
		z = s.top - float64(k)*dz
		sd, half, mid := s.at(q[0]+z*lean[0], q[1]+z*lean[1])
		switch {
		case sd > 0 && math.Abs(z-mid) <= half*s.swell(sd)+1e-9:
			return s.upper(q, lean, prev, z), true
		case over && z < mid:
			if m, in := s.middle(q, lean, prev, z); in {
				return s.upper(q, lean, prev, m), true
			}
		}
		over = z >= mid
		prev = z
	}
	return 0, false
}

// upper is the height, between out and in, at which the ray enters the solid.
func (s *solid) upper(q, lean XY, out, in float64) float64 {
	for i := 0; i < 5; i++ {
		m := (out + in) / 2
		if s.holds(q, lean, m) {
			in = m
		} else {
			out = m
		}
	}
	return in
}

// middle is the height, between above and below, at which the ray passes the middle surface, and whether that is inside of the outline.
func (s *solid) middle(q, lean XY, above, below float64) (z float64, in bool) {
	var sd, mid float64
	for i := 0; i < 8; i++ {
		z = (above + below) / 2
		if sd, _, mid = s.at(q[0]+z*lean[0], q[1]+z*lean[1]); z < mid {
			below = z
		} else {
			above = z
		}
	}
	return z, sd > 0
}

func (s *solid) holds(q, lean XY, z float64) bool {
	sd, half, mid := s.at(q[0]+z*lean[0], q[1]+z*lean[1])
	return sd > 0 && math.Abs(z-mid) <= half*s.swell(sd)+1e-9
}
