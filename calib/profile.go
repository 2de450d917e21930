package calib

import (
	"math"

	"gristmark/internal/result"
)

// Profiles across edges and lines: samples.
const (
	profileStep = 0.5 // px
	maxProfile  = 64
	leastAcross = 8  // samples of a profile
	mostAlong   = 10 // lines that are averaged
)

// profile is the light across a line of the photo, from reach px before it to reach px behind.
type profile struct {
	v    [maxProfile]float64
	n    int
	step float64 // px
}

// readAcross reads across c, along the unit vector normal and averaged over span px along tangent, within reach px;
// ok is false where a part of that lies outside the photo, or nothing can be told in so few px.
func (p *picture) readAcross(c, tangent, normal result.XY, span, reach float64) (out profile, ok bool) {
	out.n = min(int(math.Round(2*reach/profileStep)), maxProfile)
	lines := max(3, min(int(span), mostAlong))
	if out.n < leastAcross || !p.allShows(c, tangent, normal, span/2, reach) {
		return out, false
	}
	out.step = 2 * reach / float64(out.n)
	dx, dy := out.step*normal[0], out.step*normal[1]
	for i := range lines {
		s := span * ((float64(i)+0.5)/float64(lines) - 0.5)
		d := out.step/2 - reach
		// Half a px less: where pixels have their middles.
		x, y := c[0]+s*tangent[0]+d*normal[0]-0.5, c[1]+s*tangent[1]+d*normal[1]-0.5
		for j := range out.v[:out.n] {
			out.v[j] += float64(p.between(x+float64(j)*dx, y+float64(j)*dy))
		}
	}
	for j := range out.v[:out.n] {
		out.v[j] /= float64(lines)
	}
	return out, true
}

// allShows reports whether the photo shows all of a box about c, and a px more.
func (p *picture) allShows(c, tangent, normal result.XY, along, across float64) bool {
	x := math.Abs(along*tangent[0]) + math.Abs(across*normal[0]) + 1
	y := math.Abs(along*tangent[1]) + math.Abs(across*normal[1]) + 1
	return c[0] > x && c[1] > y && c[0] < float64(p.width)-x && c[1] < float64(p.height)-y
}

// between is the light between four pixels' middles, within the photo; a pixel's own middle has whole numbers.
func (p *picture) between(x, y float64) float32 {
	ix, iy := int(x), int(y)
	fx, fy := float32(x-float64(ix)), float32(y-float64(iy))
	i := iy*p.step + 3*ix + 1
	upper, lower := p.pix[i:i+4:i+4], p.pix[i+p.step:i+p.step+4]
	a := light[upper[0]]*(1-fx) + light[upper[3]]*fx
	b := light[lower[0]]*(1-fx) + light[lower[3]]*fx
	return a*(1-fy) + b*fy
}
