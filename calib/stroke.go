package calib

import (
	"math"

	"gristmark/internal/result"
)

// stroke is a place of a thin line, or of an edge, across which the photo was read.
type stroke struct {
	at     result.XY // px: the middle of the line, or the edge itself
	offset float64   // px along the normal from where it was looked for
	height float64   // light of the line over its surroundings, or of the far side over the near; signed
	edge   bool      // a step rather than a line

	near, far float64 // light on either side, against and along the normal; negative outside the photo
}

// findStroke reads across c, along the unit vector normal, averaged over span px along tangent, and
// finds a thin line or a step within reach px. The middle of a line is the centroid of its light.
func (p *picture) findStroke(c, tangent, normal result.XY, span, reach float64) (stroke, bool) {
	v, ok := p.readAcross(c, tangent, normal, span, reach)
	if !ok {
		return stroke{near: -1, far: -1}, false
	}
	return readStroke(v.v[:v.n], v.step, reach, c, normal)
}

// minStroke is the least light, relative to the surroundings, by which a line must differ.
const minStroke = 0.06

func readStroke(v []float64, step, reach float64, c, normal result.XY) (stroke, bool) {
	n, ends := len(v), max(2, len(v)/5)
	near, far := median(v[:ends]), median(v[n-ends:])
	base := func(j int) float64 { return near + (far-near)*float64(j)/float64(n-1) }
	s := stroke{near: near, far: far}
	peak := 0
	for j := range n {
		if math.Abs(v[j]-base(j)) > math.Abs(v[peak]-base(peak)) {
			peak = j
		}
	}
	dev := v[peak] - base(peak)
	stepHeight := far - near
	least := minStroke * math.Max((near+far)/2, 0.01)
	switch {
	case math.Abs(dev) > 1.2*math.Abs(stepHeight) && math.Abs(dev) > least:
		return readLine(s, v, base, peak, step, reach, c, normal)
	case math.Abs(stepHeight) > 2*least && math.Abs(dev) < 0.9*math.Abs(stepHeight):
		dark := 0.0
		for _, q := range v {
			dark += (far - q) / stepHeight * step
		}
		s.offset, s.height, s.edge = dark-reach, stepHeight, true
		s.at = add(c, normal, s.offset)
		return s, math.Abs(s.offset) < 0.9*reach
	}
	return s, false
}

// readLine takes the centroid of the peak's light down to a fifth of its height on both sides.
func readLine(s stroke, v []float64, base func(int) float64, peak int, step, reach float64, c, normal result.XY) (stroke, bool) {
	dev := v[peak] - base(peak)
	share := func(j int) float64 { return (v[j] - base(j)) / dev }
	lo, hi := peak, peak
	for lo > 0 && share(lo-1) > 0.2 {
		lo--
	}
	for hi < len(v)-1 && share(hi+1) > 0.2 {
		hi++
	}
	if lo == 0 || hi == len(v)-1 {
		return s, false
	}
	var sum, at float64
	for j := lo; j <= hi; j++ {
		w := share(j) - 0.2
		if w > 0 {
			sum += w
			at += w * (-reach + (float64(j)+0.5)*step)
		}
	}
	s.offset, s.height = at/sum, dev
	s.at = add(c, normal, s.offset)
	return s, true
}
