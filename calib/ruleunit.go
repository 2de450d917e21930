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
// on, and no more from those of every other unit. A wrong pitch fails the one or the other.
func (r *ruleFit) confirms(pitch float64) bool {
	m := unitOf(pitch)
	if m == 0 {
		return false
	}
	half, next := r.unit(m)
	return half > minLongerTick && next < minLongerTick
}

// unit tells, in standard errors and at most over the rows of the strip, by how much the longest ticks
// of each unit of m differ from those midway between them, and every other of them from the rest.
func (r *ruleFit) unit(m int) (half, next float64) {
	for k := range r.deep.light {
		dark := make([]float64, 0, r.last-r.first+1)
		for n := r.first; n <= r.last; n++ {
			dark = append(dark, r.darkness(k, n))
		}
		longest := extremeClass(dark, m)
		h := differ(class(dark, longest, m), class(dark, (longest+m/2)%m, m))
		half = math.Max(half, h)
		if h > minLongerTick { // elsewhere there is only what lies beside the rule
			next = math.Max(next, differ(class(dark, longest, 2*m), class(dark, longest+m, 2*m)))
		}
	}
	return half, next
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

// darkness is by how much a row differs at a tick from half a spacing beside it.
func (r *ruleFit) darkness(row, n int) float64 {
	v := r.deep.light[row]
	at := func(t float64) float64 {
		i := int(math.Round(t))
		if i < 0 || i >= len(v) {
			return 0
		}
		return v[i]
	}
	x := float64(n)
	return (at(r.place(x-0.5))+at(r.place(x+0.5)))/2 - at(r.place(x))
}
