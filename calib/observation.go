package calib

import (
	"math"

	"gristmark/internal/result"
)

// observation is one thing measured in the photo that the view has to explain: a point of the plane,
// or a point somewhere on a line of the plane.
type observation struct {
	px  result.XY // ideal px
	mm  result.XY // the point, or a point of the line
	dir result.XY // unit direction of the line, mm; zero for a point
	// spread is +1 where the line bounds dark print and out points away from the print, -1 for the
	// opposite, 0 where no side is dark.
	spread float64
	out    result.XY // unit normal of the line, mm
	sd     float64   // px, of the measuring alone; fits that know better raise it
	mark   int       // which mark it belongs to

	dropped bool
}

// isLine reports whether the observation is of a line: one residual instead of two.
func (o *observation) isLine() bool { return o.dir != result.XY{} }

// frozen is an observation prepared for one linearisation.
type frozen struct {
	mm result.XY    // point whose image is compared
	n  [2]result.XY // directions along which the residual is taken
	k  int          // number of directions
}

// freeze picks the point of the line nearest to what was seen, and the direction across its image.
func (o *observation) freeze(v *view) frozen {
	if !o.isLine() {
		return frozen{o.mm, [2]result.XY{{1, 0}, {0, 1}}, 2}
	}
	seen := v.toMM(o.px)
	t := (seen[0]-o.mm[0])*o.dir[0] + (seen[1]-o.mm[1])*o.dir[1]
	foot := result.XY{o.mm[0] + t*o.dir[0], o.mm[1] + t*o.dir[1]}
	const step = 0.1 // mm
	a := v.toPx(foot)
	b := v.toPx(result.XY{foot[0] + step*o.dir[0], foot[1] + step*o.dir[1]})
	c := v.toPx(result.XY{foot[0] + step*o.out[0], foot[1] + step*o.out[1]})
	n := result.XY{-(b[1] - a[1]), b[0] - a[0]}
	if n[0]*(c[0]-a[0])+n[1]*(c[1]-a[1]) < 0 {
		n[0], n[1] = -n[0], -n[1]
	}
	l := math.Hypot(n[0], n[1])
	return frozen{foot, [2]result.XY{{n[0] / l, n[1] / l}}, 1}
}

// residual is what was seen minus what the view says, px along each direction.
func (o *observation) residual(v *view, z frozen) (r [2]float64) {
	q := v.toPx(z.mm)
	for i := range z.k {
		r[i] = (o.px[0]-q[0])*z.n[i][0] + (o.px[1]-q[1])*z.n[i][1]
	}
	r[0] -= o.spread * v.p[pSpread]
	return r
}

// huber weighs a standardised residual: 1 up to the limit, falling as 1/r beyond.
func huber(r, limit float64) float64 {
	if r = math.Abs(r); r <= limit {
		return 1
	}
	return limit / r
}

// huberCost is the sum's term whose gradient huber weighs: square inside the limit, straight beyond.
func huberCost(r, limit float64) float64 {
	if r = math.Abs(r); r <= limit {
		return r * r
	}
	return limit * (2*r - limit)
}

// huberLimit is in standard deviations of an observation.
const huberLimit = 3
