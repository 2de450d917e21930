package calib

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// unitOf is how many ticks of a pitch make the unit whose ticks are the longest: a centimetre, an
// inch, or a decimetre of centimetres; 0 where no unit is a whole, even number of them.
func unitOf(pitch float64) int {
	for _, unit := range []float64{10, 25.4, 100} {
		n := math.Round(unit / pitch)
		if n >= 8 && n <= 64 && int(n)%2 == 0 && math.Abs(unit/n-pitch) < 1e-4*pitch && (unit < 100 || n == 10) {
			return int(n)
		}
	}
	return 0
}

// confirms reports whether the longest ticks come once a unit: they differ from those half a unit
// on, and no more from those of every other unit. A wrong pitch fails the one or the other. On one side of the ticks
// nothing of the kind goes on.
func (r *ruleFit) confirms(p *picture, pitch float64) bool {
	m := unitOf(pitch)
	if m == 0 {
		return false
	}
	// On usual rules the longest ticks of a unit are some seven spacings of millimetres long.
	n := len(r.strip.light[0])
	spacing := math.Abs(r.place(r.middle+1) - r.place(r.middle))
	r.deep = p.readStrip(r.strip.at(0, r.d), r.strip.dir, n, 8*spacing, max(1, spacing/2))
	half, next := r.unit(m)
	return half > minLongerTick && next < minLongerTick && r.endsBeside()
}

// unit tells, in standard errors, by how much the longest ticks of each unit of m differ from those midway between
// them, in the row but one in which they do so most, and every other of them from the rest, at most.
func (r *ruleFit) unit(m int) (half, next float64) {
	r.findLean()
	top, most := r.usual(), 0.0
	for k := range r.deep.light {
		dark := make([]float64, 0, r.last-r.first+1)
		for n := r.first; n <= r.last; n++ {
			// What lies on the rule counts for no more than a tick would.
			dark = append(dark, max(-0.5*top, min(1.3*top, r.darkness(k, n))))
		}
		longest := extremeClass(dark, m)
		h := differ(class(dark, longest, m), class(dark, (longest+m/2)%m, m))
		most, half = math.Max(most, h), math.Max(half, min(most, h))
		if h > minLongerTick { // elsewhere there is only what lies beside the rule
			next = math.Max(next, differ(class(dark, longest, 2*m), class(dark, longest+m, 2*m)))
		}
	}
	return half, next
}

// usual is how dark most ticks are in the row in which they were found.
func (r *ruleFit) usual() float64 {
	base := len(r.deep.rows) / 2
	var dark []float64
	for n := r.first; n <= r.last; n++ {
		dark = append(dark, r.darkness(base, n))
	}
	return math.Max(1, median(dark))
}

// Limits of how far ticks lean from the square to the rule's edge, in the photo: tilt and lens do that.
const (
	mostLean  = 0.24
	leanSteps = 6  // to either side
	leanTicks = 70 // that are looked at
)

// findLean finds how ticks lean, at the middle of the rule and more towards its ends, by how dark the rows beside
// the first are along them.
func (r *ruleFit) findLean() {
	base := len(r.deep.rows) / 2
	var rows []int
	for _, k := range []int{-4, -3, -2, -1, 1, 2, 3, 4} { // within two spacings: the shortest ticks are longer
		if base+k >= 0 && base+k < len(r.deep.rows) {
			rows = append(rows, base+k)
		}
	}
	every := max(1, (r.last-r.first)/leanTicks)
	top := r.usual()
	score := func(i, j int) float64 {
		r.lean = [2]float64{mostLean * float64(i) / leanSteps, mostLean * float64(j) / leanSteps}
		sum := -1e-3 * top * float64(i*i+j*j) // the least of what serves as well
		for _, k := range rows {
			for n := r.first; n <= r.last; n += every {
				sum += max(0, min(1.3*top, r.darkness(k, n)))
			}
		}
		return sum
	}
	i, j := climb(leanSteps, score)
	score(i, j)
}

// climb finds where on a grid from -n to n a score is the largest: on every other place, then next to the best.
func climb(n int, score func(i, j int) float64) (i, j int) {
	best := math.Inf(-1)
	try := func(u, v int) {
		if s := score(u, v); s > best {
			best, i, j = s, u, v
		}
	}
	for u := -n; u <= n; u += 2 {
		for v := -n; v <= n; v += 2 {
			try(u, v)
		}
	}
	a, b := i, j
	for u := max(-n, a-1); u <= min(n, a+1); u++ {
		for v := max(-n, b-1); v <= min(n, b+1); v++ {
			if u != a || v != b {
				try(u, v)
			}
		}
	}
	return i, j
}

// class is every m-th value from k on.
func class(v []float64, k, m int) (out []float64) {
	for i := k; i < len(v); i += m {
		out = append(out, v[i])
	}
	return out
}

// extremeClass is the residue modulo m whose mean is farthest above the overall mean.
func extremeClass(v []float64, m int) int {
	best, top := 0, math.Inf(-1)
	for k := range m {
		if c := class(v, k, m); len(c) > 0 {
			if mean := stat.Mean(c, nil); mean > top {
				best, top = k, mean
			}
		}
	}
	return best
}

// differ is Welch's t of two samples, with a grey level squared added to each variance; 0 for fewer
// than three values in either.
func differ(a, b []float64) float64 {
	if len(a) < 3 || len(b) < 3 {
		return 0
	}
	ma, va := stat.MeanVariance(a, nil)
	mb, vb := stat.MeanVariance(b, nil)
	return math.Abs(ma-mb) / math.Sqrt((va+1)/float64(len(a))+(vb+1)/float64(len(b)))
}

// darkness is by how much a row differs at a tick, within a px of it, from half a spacing beside it.
func (r *ruleFit) darkness(row, n int) float64 {
	v := r.deep.light[row]
	x := float64(n)
	here := r.place(x)
	before, after := r.place(x-0.5), r.place(x+0.5)
	shift := r.deep.rows[row] * (r.lean[0] + r.lean[1]*2*(here/float64(len(v))-0.5))
	reach := min(0.8, (after-before)/6)
	at := func(t float64) (sum float64) {
		t += shift
		for _, d := range [3]float64{-reach, 0, reach} {
			i := int(t + d)
			if t+d < 0 || i+1 >= len(v) {
				return 0
			}
			f := t + d - float64(i)
			sum += v[i]*(1-f) + v[i+1]*f
		}
		return sum / 3
	}
	return (at(before)+at(after))/2 - at(here)
}
