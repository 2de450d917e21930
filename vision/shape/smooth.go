package shape

import "math"

// Resample places points along the closed outline at equal arc lengths, as near to step apart as makes a
// whole number of them, at least three and at most 1<<16. It keeps the first point. Nil without a length.
func Resample(outline []XY, step float64) []XY {
	p := Perimeter(outline)
	if !(p > 0) || math.IsInf(p, 0) || !(step > 0) {
		return nil
	}
	n := int(min(max(math.Round(p/step), 3), 1<<16))
	out := make([]XY, 0, n)
	gap, next, s := p/float64(n), 0.0, 0.0
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		d := dist(a, b)
		for next < s+d && len(out) < n {
			out = append(out, lerp(a, b, (next-s)/d))
			next += gap
		}
		s += d
	}
	for len(out) < n { // rounding at the very end
		out = append(out, outline[0])
	}
	return out
}

// resampleLine places n >= 2 points at equal arc lengths along the open line.
func resampleLine(line []XY, n int) []XY {
	total := Length(line)
	out := make([]XY, 0, n)
	gap, next, s := total/float64(n-1), 0.0, 0.0
	for i := 1; i < len(line); i++ {
		d := dist(line[i-1], line[i])
		for next < s+d && len(out) < n-1 {
			out = append(out, lerp(line[i-1], line[i], (next-s)/d))
			next += gap
		}
		s += d
	}
	for len(out) < n {
		out = append(out, line[len(line)-1])
	}
	return out
}

// Smooth takes steps and noise off an outline. The outline is resampled at sigma/3 and filtered along its
// arc with a Gaussian g of standard deviation sigma, twice over in the form 2g - g*g: what is wider
// than about 4 sigma stays (a circle of radius r shrinks by only (sigma/r)⁴/4 of r, where a plain Gaussian
// takes (sigma/r)²/2), what is narrower than sigma goes; a corner is rounded over about sigma.
//
// For the perimeter of pieces outlined from masks use PerimeterSigma pixels. Without it the outline
// of a 0-or-255 mask is up to 8 % too long; with it, discs of 10 px radius and more and rectangles at any
// angle with sides of 50 px and more come within 1 % (see the tests).
func Smooth(outline []XY, sigma float64) []XY {
	o := Resample(outline, sigma/3)
	if len(o) < 8 {
		return append([]XY(nil), outline...)
	}
	k := gaussian(sigma/(Perimeter(outline)/float64(len(o))), len(o)/2-1)
	g := convolve(o, k)
	gg := convolve(g, k)
	for i := range g {
		g[i] = sub(mul(g[i], 2), gg[i])
	}
	return g
}

// PerimeterSigma is the filter width for Smooth, px, before the perimeter of a mask's outline is taken.
const PerimeterSigma = 2.0

// gaussian is the right half of the kernel, its centre first, at most reach samples beyond it.
func gaussian(sigma float64, reach int) []float64 {
	n := min(int(math.Ceil(3.5*sigma)), reach)
	k := make([]float64, n+1)
	sum := -1.0
	for i := range k {
		k[i] = math.Exp(-float64(i*i) / (2 * sigma * sigma))
		sum += 2 * k[i]
	}
	for i := range k {
		k[i] /= sum
	}
	return k
}

// convolve filters the closed outline with a symmetric kernel.
func convolve(o []XY, k []float64) []XY {
	n, r := len(o), len(k)-1
	ring := make([]XY, 0, n+2*r)
	ring = append(append(append(ring, o[n-r:]...), o...), o[:r]...)
	out := make([]XY, n)
	for i := range out {
		c := ring[i+r]
		x, y := k[0]*c[0], k[0]*c[1]
		for j := 1; j <= r; j++ {
			a, b := ring[i+r-j], ring[i+r+j]
			x += k[j] * (a[0] + b[0])
			y += k[j] * (a[1] + b[1])
		}
		out[i] = XY{x, y}
	}
	return out
}

// Simplify drops points of the closed outline that lie within tolerance of the chord that replaces them
// (Ramer 1972; Douglas & Peucker 1973). It starts from two far points, so that no corner is lost.
func Simplify(outline []XY, tolerance float64) []XY {
	n := len(outline)
	if n < 4 {
		return append([]XY(nil), outline...)
	}
	a := farthest(outline, outline[0])
	b := farthest(outline, outline[a])
	if a > b {
		a, b = b, a
	}
	s := simplifier{o: outline, keep: make([]bool, n), tolerance: tolerance}
	s.keep[a], s.keep[b] = true, true
	s.between(a, b)
	s.between(b, a+n)
	out := make([]XY, 0, 16)
	for i, k := range s.keep {
		if k {
			out = append(out, outline[i])
		}
	}
	return out
}

func farthest(points []XY, from XY) (at int) {
	best := -1.0
	for i, p := range points {
		if d := dist(p, from); d > best {
			best, at = d, i
		}
	}
	return at
}

type simplifier struct {
	o         []XY
	keep      []bool
	tolerance float64
}

// between keeps the farthest point between i and j, counted round the outline, if it is too far off.
func (s *simplifier) between(i, j int) {
	n := len(s.o)
	a, b := s.o[i%n], s.o[j%n]
	worst, at := s.tolerance, -1
	for k := i + 1; k < j; k++ {
		if d := toSegment(s.o[k%n], a, b); d > worst {
			worst, at = d, k
		}
	}
	if at >= 0 {
		s.keep[at%n] = true
		s.between(i, at)
		s.between(at, j)
	}
}

// toSegment is the distance from p to the segment ab.
func toSegment(p, a, b XY) float64 {
	e := sub(b, a)
	t := 0.0
	if d := dot(e, e); d > 0 {
		t = min(max(dot(sub(p, a), e)/d, 0), 1)
	}
	return dist(p, lerp(a, b, t))
}
