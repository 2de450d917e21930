package estimate

import (
	"math"
	"math/rand/v2"

	"gristmark/internal/stats"
)

// figure is a ratio with what its interval needs.
type figure struct {
	value    float64 // the ratio; NaN where nothing was counted
	variance float64 // of the resamples: particles, naming, scale and shared doubts
	model    float64 // the part of it that the shared doubts bring
	df       float64 // degrees of freedom of variance
	units    float64 // effective number of particles
	skew     float64 // of the ratio over samples like this one: third moment over the cube of the s.d.
	between  float64 // standard error from the spread between photos, +Inf where there is one
	photos   float64 // its degrees of freedom
}

// draw resamples the sample and looks at the spread between photos.
func draw(t *tallied, opt Options) [figures]figure {
	var out [figures]figure
	draws := resample(t, opt)
	for f := range out {
		if !(t.all[f].den > 0) {
			out[f].value = math.NaN()
			continue
		}
		out[f] = t.figure(f, draws[f])
	}
	return out
}

func (t *tallied) figure(f int, draws []float64) figure {
	one := figure{value: t.all[f].ratio()}
	for _, d := range t.shared {
		one.model += d[f] * d[f]
	}
	var residuals []float64
	residuals, one.units, one.skew = t.residuals(f)
	if len(draws) > 1 {
		sd := stats.StandardError(draws)
		one.variance = sd * sd * (1 + 1/max(one.units-1, 0.5))
	}
	one.df = stats.VarianceDF(residuals)
	if f == wholeShare {
		one.df = math.Inf(1) // a count: its variance is known, not seen
	}
	if sampling := one.variance - one.model; sampling > 0 {
		one.df *= math.Pow(one.variance/sampling, 2)
	}
	num, den := make([]float64, len(t.by)), make([]float64, len(t.by))
	for j, s := range t.by {
		num[j], den[j] = s[f].num, s[f].den
	}
	one.between, one.photos = stats.RatioError(num, den)
	return one
}

// residuals of the particles about the ratio, root mean square over their classes, the effective number of particles (Kish's, each
// counted by the chance that it belongs to the figure), and the skewness of the residuals' sum. Shots of one spread count as one.
func (t *tallied) residuals(f int) (residuals []float64, units, skew float64) {
	r, sum, square := t.all[f].ratio(), 0.0, 0.0
	var second, third float64
	for j, each := range t.each {
		for i, byClass := range each {
			if i%t.spreads[j].shots != 0 {
				continue
			}
			var e2, any float64
			for class, p := range t.spreads[j].pieces[i].probabilities() {
				d := byClass[class][f]
				e := d.num - r*d.den
				e2 += p * e * e
				third += p * e * e * e
				any += p * d.den
				square += p * d.den * d.den
			}
			sum += any
			second += e2
			if any > 0 {
				residuals = append(residuals, math.Sqrt(e2))
			}
		}
	}
	if second > 0 {
		skew = third / math.Pow(second, 1.5)
	}
	if !(square > 0) {
		return residuals, 0, skew
	}
	return residuals, sum * sum / square, skew
}

func (p piece) probabilities() [classCount]float64 {
	return [classCount]float64{p.pWhole, p.pBroken, p.pStover}
}

// resample draws particles with replacement within each spread, each as one of its classes, and adds one error a spread for the scale
// and one for each shared doubt. Draws that hold nothing of a figure are left out of it.
func resample(t *tallied, opt Options) [figures][]float64 {
	var out [figures][]float64
	r := stats.Rand(opt.Seed)
	errors := make([]float64, figures)
	for range opt.Resamples {
		var sum terms
		for j := range t.each {
			t.drawSpread(r, j, &sum)
		}
		t.drawErrors(r, errors)
		for f := range sum {
			if sum[f].den > 0 {
				out[f] = append(out[f], sum[f].ratio()+errors[f])
			}
		}
	}
	return out
}

func (t *tallied) drawSpread(r *rand.Rand, j int, sum *terms) {
	each, s := t.each[j], &t.spreads[j]
	n := (len(each) + s.shots/2) / s.shots // shots of one spread hold its particles once each
	if len(each) > 0 {
		n = max(n, 1)
	}
	var part terms
	for range n {
		i := r.IntN(len(each))
		p, u := &s.pieces[i], r.Float64()
		switch {
		case u < p.pStover:
			for f := kernelFigures; f < figures; f++ {
				part[f].num += each[i][asStover][f].num
				part[f].den += each[i][asStover][f].den
			}
		default:
			class := asBroken
			if u < p.pStover+p.pWhole {
				class = asWhole
			}
			for f := range kernelFigures {
				part[f].num += each[i][class][f].num
				part[f].den += each[i][class][f].den
			}
		}
	}
	for f := range part {
		sum[f].num += part[f].num * float64(s.shots)
		sum[f].den += part[f].den * float64(s.shots)
	}
}

func (t *tallied) drawErrors(r *rand.Rand, errors []float64) {
	clear(errors)
	for _, from := range [][][figures]float64{t.scale, t.shared} {
		for _, slope := range from {
			z := r.NormFloat64()
			for f := range errors {
				errors[f] += z * slope[f]
			}
		}
	}
}
