package calib

import (
	"math"
	"math/cmplx"
)

// Where a rule has to be blank: beyond one end of its ticks, which is its edge or where its numbers stand.
const (
	blankFrom   = 4    // spacings beside the row of ticks: few ticks are longer, and rows may run askew
	blankTo     = 8    //
	blankBeat   = 0.25 // of the power of the ticks' own beat, from which a place counts as beating
	mostBeating = 0.3  // of the places that beat in the row of ticks, on the blank side
)

// endsBeside reports whether the beat of the ticks ends on one side of them. What goes on and on to both sides is a
// mesh, a board of squares, tiles or stripes, in which a row may look like ticks.
func (r *ruleFit) endsBeside() bool {
	base := r.beats(r.deep.light[len(r.deep.rows)/2])
	least := blankBeat * median(base)
	if share := beating(base, least); share > 0 {
		return min(r.besides(-1, least), r.besides(1, least)) < mostBeating*share
	}
	return false
}

// besides is the mean share of places that beat in the rows on one side of the ticks.
func (r *ruleFit) besides(side, least float64) float64 {
	sum, n := 0.0, 0
	spacing := math.Abs(r.place(r.middle+1) - r.place(r.middle))
	next := blankFrom * spacing
	for k := range r.deep.rows {
		i := len(r.deep.rows)/2 + k*int(side)
		if i < 0 || i >= len(r.deep.rows) || math.Abs(r.deep.rows[i]) > blankTo*spacing {
			break
		}
		if math.Abs(r.deep.rows[i]) >= next {
			sum += beating(r.beats(r.deep.light[i]), least)
			n++
			next += spacing
		}
	}
	return sum / math.Max(1, float64(n))
}

// beating is the share of powers that reach the least.
func beating(powers []float64, least float64) float64 {
	n := 0
	for _, v := range powers {
		if v >= least {
			n++
		}
	}
	return float64(n) / math.Max(1, float64(len(powers)))
}

// beats is the power of a row at the spacing of the ticks, place by place along the rule.
func (r *ruleFit) beats(row []float64) (out []float64) {
	flat := highPass(row)
	from, to := r.place(float64(r.first)), r.place(float64(r.last))
	for start := max(0, int(min(from, to))); start+spectrumPx/2 <= min(len(flat), int(max(from, to))); start += anchorPx {
		out = append(out, power(flat[start:start+spectrumPx/2], r.beat.period(float64(start)+spectrumPx/4)))
	}
	return out
}

// power of a window at a period, px.
func power(window []float64, period float64) float64 {
	turn, hann := cmplx.Exp(complex(0, -2*math.Pi/period)), cmplx.Exp(complex(0, 2*math.Pi/float64(len(window))))
	a, w := complex(1, 0), complex(1, 0)
	var sum complex128
	for _, v := range window {
		sum += a * complex(v*(1-real(w)), 0)
		a, w = a*turn, w*hann
	}
	return real(sum)*real(sum) + imag(sum)*imag(sum)
}
