package vision

import "math"

// Shading that the background may show without being a piece, as factors of (L*+16, a*, b*): the
// cube roots of an illumination of 0.15 and of 1.15.
const (
	darkest   = 0.53
	brightest = 1.05
	shadeCost = 0.15 // of the shade is counted as difference, so that no shadow is free
)

// whitening divides colour differences by the noise of the tray's own surface.
type whitening [3]float32

// noiseFloor is the least standard deviation that a tray is credited with, in L*, a*, b*.
var noiseFloor = [3]float64{1.6, 1.15, 1.15}

// near is a distance below which nothing is decided: there the shades are not looked at.
const near = 3.5

// distance is how far the colour v lies from the background colour b and all its shades, in
// standard deviations of the background.
func (w *whitening) distance(v, b [3]float32) float32 {
	p0, p1, p2 := (v[0]-b[0])*w[0], (v[1]-b[1])*w[1], (v[2]-b[2])*w[2]
	if plain := p0*p0 + p1*p1 + p2*p2; plain < near*near {
		return plain * (1 / near) // below near, monotone, and free of a square root
	}
	bb := b[0]*b[0] + b[1]*b[1] + b[2]*b[2]
	k := (v[0]*b[0] + v[1]*b[1] + v[2]*b[2]) / bb
	var extra float32
	switch {
	case k > brightest:
		k = brightest
	case k < darkest:
		k = darkest
		extra = shadeCost * (1 - k) * b[0]
	case k < 1:
		extra = shadeCost * (1 - k) * b[0]
	}
	d0 := (v[0] - k*b[0]) * w[0]
	d1 := (v[1] - k*b[1]) * w[1]
	d2 := (v[2] - k*b[2]) * w[2]
	e := extra * w[0]
	return float32(math.Sqrt(float64(d0*d0 + d1*d1 + d2*d2 + e*e)))
}
