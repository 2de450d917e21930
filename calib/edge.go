package calib

import (
	"math"

	"gristmark/internal/result"
)

// edge is a piece of a straight edge between dark and light.
type edge struct {
	at       result.XY // where it was found, px
	offset   float64   // px along the normal from where it was looked for
	lo, hi   float64   // light on the dark and on the light side, 0..1
	misshape float64   // how far the profile leaves the range of its two ends, over the contrast
}

// findEdge looks for the edge that passes near c along the unit vector tangent; normal is the unit vector
// across it, from dark to light. It averages over span px along the edge and looks reach px to each
// side. The place is that of an ideal step with the same amount of light (the grey-level moment of
// Tabatabai & Mitchell 1984 in one dimension), which blur leaves where it is.
func (p *picture) findEdge(c, tangent, normal result.XY, span, reach float64) (edge, bool) {
	v, ok := p.readAcross(c, tangent, normal, span, reach)
	if !ok {
		return edge{}, false
	}
	return readProfile(v.v[:v.n], v.step, reach, c, normal)
}

// readProfile finds the step in a profile.
func readProfile(v []float64, step, reach float64, c, normal result.XY) (edge, bool) {
	n, ends := len(v), max(2, len(v)/5)
	var e edge
	for j := range ends {
		e.lo += v[j] / float64(ends)
		e.hi += v[n-1-j] / float64(ends)
	}
	contrast := e.hi - e.lo
	if contrast < 0.02 {
		return e, false
	}
	dark := 0.0
	for _, q := range v {
		t := (e.hi - q) / contrast
		dark += t * step
		e.misshape = math.Max(e.misshape, math.Max(t-1, -t))
	}
	e.offset = dark - reach
	e.at = add(c, normal, e.offset)
	return e, math.Abs(e.offset) < reach
}
