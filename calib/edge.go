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

// profile lengths in samples
const (
	profileStep = 0.5 // px
	maxProfile  = 64
)

// findEdge looks for the edge that passes near c along the unit vector tangent; normal is the unit vector
// across it, from dark to light. It averages over span px along the edge and looks reach px to each
// side. The place is that of an ideal step with the same amount of light (the grey-level moment of
// Tabatabai & Mitchell 1984 in one dimension), which blur leaves where it is.
func (p *picture) findEdge(c, tangent, normal result.XY, span, reach float64) (edge, bool) {
	n := min(int(math.Round(2*reach/profileStep)), maxProfile)
	if n < 8 {
		return edge{}, false
	}
	lines := max(3, min(int(span), 10))
	var sum [maxProfile]float64
	step := 2 * reach / float64(n)
	for i := range lines {
		s := span * ((float64(i)+0.5)/float64(lines) - 0.5)
		for j := range n {
			d := -reach + (float64(j)+0.5)*step
			v := p.at(c[0]+s*tangent[0]+d*normal[0], c[1]+s*tangent[1]+d*normal[1])
			if v < 0 {
				return edge{}, false
			}
			sum[j] += float64(v)
		}
	}
	return readProfile(sum[:n], float64(lines), step, reach, c, normal)
}

// readProfile finds the step in a summed profile.
func readProfile(sum []float64, lines, step, reach float64, c, normal result.XY) (edge, bool) {
	n, ends := len(sum), max(2, len(sum)/5)
	var e edge
	for j := range n {
		sum[j] /= lines
		if j < ends {
			e.lo += sum[j] / float64(ends)
		}
		if j >= n-ends {
			e.hi += sum[j] / float64(ends)
		}
	}
	contrast := e.hi - e.lo
	if contrast < 0.02 {
		return e, false
	}
	dark := 0.0
	for _, v := range sum {
		t := (e.hi - v) / contrast
		dark += t * step
		e.misshape = math.Max(e.misshape, math.Max(t-1, -t))
	}
	e.offset = dark - reach
	e.at = add(c, normal, e.offset)
	return e, math.Abs(e.offset) < reach
}
