package vision

import "math"

// Shading that the background may show without being a piece, as factors of its light: out of doors
// even a deep shadow keeps an eighth of it, so that black things on a pale tray are things.
var shadeLight = [...]float64{1.2, 1, 0.7, 0.47, 0.3, 0.18, 0.12}

const (
	darkest   = 0.53 // cube root of 0.15: the darkest shade by the cube-root law
	brightest = 1.06 // cube root of 1.2
	shadeCost = 0.15 // of the shade is counted as difference, so that no shadow is free
)

// whitening divides colour differences by the noise of the tray's own surface.
type whitening [3]float32

// noiseFloor is the least standard deviation that a tray is credited with, in L*, a*, b*.
var noiseFloor = [3]float64{1.6, 1.15, 1.15}

// near is a distance below which nothing is decided: there the shades are not looked at.
const near = 3.5

// plain is the distance between two colours, exact from near on, and in order below it, where a
// square root is spared.
func (w *whitening) plain(v, b [3]float32) float32 {
	p0, p1, p2 := (v[0]-b[0])*w[0], (v[1]-b[1])*w[1], (v[2]-b[2])*w[2]
	d := p0*p0 + p1*p1 + p2*p2
	if d < near*near {
		return d * (1 / near)
	}
	return float32(math.Sqrt(float64(d)))
}

// distance is how far the colour v lies from the background colour b and its shades, in standard
// deviations of the background, where shades follow the cube-root law: good enough to choose the
// cells that are bare, but not near black.
func (w *whitening) distance(v, b [3]float32) float32 {
	if d := w.plain(v, b); d < near {
		return d
	}
	return w.shaded(&v, &b)
}

// shaded is how far v lies from b and its shades, as distance has it, where they are not near each other.
func (w *whitening) shaded(v, b *[3]float32) float32 {
	bb := b[0]*b[0] + b[1]*b[1] + b[2]*b[2]
	k := (v[0]*b[0] + v[1]*b[1] + v[2]*b[2]) / bb
	k = min(max(k, darkest), brightest)
	d0, d1, d2 := (v[0]-k*b[0])*w[0], (v[1]-k*b[1])*w[1], (v[2]-k*b[2])*w[2]
	e := shadeCost * max(0, 1-k) * b[0] * w[0]
	return float32(math.Sqrt(float64(d0*d0 + d1*d1 + d2*d2 + e*e)))
}

// shades are the colours that a surface takes under less and more light, as (L*+16, a*, b*).
type shades [len(shadeLight)][3]float32

// shadesOf scales the light of a colour through the defining equations of CIE L*a*b*, which near
// black are not a cube root any more.
func shadesOf(b [3]float32) (s shades) {
	fy := float64(b[0]) / 116
	x, y, z := labInverse(fy+float64(b[1])/500), labInverse(fy), labInverse(fy-float64(b[2])/200)
	for i, light := range shadeLight {
		gx, gy, gz := labForward(x*light), labForward(y*light), labForward(z*light)
		s[i] = [3]float32{float32(116 * gy), float32(500 * (gx - gy)), float32(200 * (gy - gz))}
	}
	return s
}

func labForward(t float64) float64 {
	if t > 216.0/24389 {
		return math.Cbrt(t)
	}
	return (24389.0/27*t + 16) / 116
}

func labInverse(f float64) float64 {
	if f > 6.0/29 {
		return f * f * f
	}
	return math.Max(0, (116*f-16)*27/24389)
}

// shadeLine joins shades by straight pieces, in standard deviations.
type shadeLine struct {
	shades
	along [len(shadeLight) - 1][3]float32 // from each shade to the next
	len2  [len(shadeLight) - 1]float32    // its square
}

func lineThrough(s shades, w *whitening) shadeLine {
	line := shadeLine{shades: s}
	for i := range line.along {
		var sum float32
		for k := range 3 {
			d := (s[i+1][k] - s[i][k]) * w[k]
			line.along[i][k] = d
			sum += d * d
		}
		line.len2[i] = max(sum, 1e-6)
	}
	return line
}

// distance is how far the colour v lies from the line, in standard deviations.
func (s *shadeLine) distance(v [3]float32, w *whitening) float32 {
	best := float32(math.MaxFloat32)
	for i := range s.along {
		a, d := &s.shades[i], &s.along[i]
		r0, r1, r2 := (v[0]-a[0])*w[0], (v[1]-a[1])*w[1], (v[2]-a[2])*w[2]
		t, l := d[0]*r0+d[1]*r1+d[2]*r2, s.len2[i]
		switch {
		case t <= 0:
			t = 0
		case t >= l:
			t = 1
		default:
			t /= l
		}
		e0, e1, e2 := r0-t*d[0], r1-t*d[1], r2-t*d[2]
		off := e0*e0 + e1*e1 + e2*e2
		if off >= best {
			continue
		}
		cost := shadeCost * max(0, s.shades[1][0]-a[0]-t*(s.shades[i+1][0]-a[0])) * w[0]
		best = min(best, off+cost*cost)
	}
	return float32(math.Sqrt(float64(best)))
}
