package compare

import (
	"math"
	"slices"

	"gristmark/internal/result"
	"gristmark/internal/stats"
)

// level is the coverage of all intervals here.
const level = 0.95

// enoughToResample is the number of units a side from which whole units are resampled as well: of fewer the percentile
// interval falls far short of its level (of two units it holds 56 %).
const enoughToResample = 5

const replicates = 2000

// spreadOf is a side's readings of one measure.
type spreadOf struct {
	num, den []float64
	own      float64 // standard error that the particles give by themselves; 0: not known
}

func collect(s Side, measure string) spreadOf {
	out := spreadOf{own: s.Own[measure]}
	for _, u := range s.Units {
		if r, ok := u.Readings[measure]; ok && r.Weight > 0 {
			out.num = append(out.num, r.Value*r.Weight)
			out.den = append(out.den, r.Weight)
		}
	}
	return out
}

// units is the number of readings.
func (s spreadOf) units() int { return len(s.den) }

// variance is that of a side's figure: what the particles give by themselves, and what the units spread beyond it, with the degrees of
// freedom of the latter.
func (s spreadOf) variance() (own, beyond, df float64) {
	se, df := stats.RatioError(s.num, s.den)
	own = s.own * s.own
	return own, max(0, se*se-own), df
}

// unpaired is the half width of the difference of two independent sides: Student's t over units. Only the spread beyond the particles'
// own is estimated from few units, so only it lowers the degrees of freedom (Welch 1947, Biometrika 34:28; Satterthwaite 1946, Biometrics
// Bull. 2:110); the interval is never narrower than the particles give by themselves. With fewer than enoughToResample units on a side,
// Welch's few degrees of freedom make intervals that say nothing, and the sides borrow from each other; see borrow.
func unpaired(a, b spreadOf) (half float64, ok bool) {
	if a.units() < 2 || b.units() < 2 {
		return 0, false
	}
	ownA, moreA, dfA := a.variance()
	ownB, moreB, dfB := b.variance()
	more, squareOverDF := moreA+moreB, moreA*moreA/dfA+moreB*moreB/dfB
	if min(a.units(), b.units()) < enoughToResample && squareOverDF > 0 {
		na, nb := float64(a.units()), float64(b.units())
		oneUnit := (dfA*moreA*na + dfB*moreB*nb) / (dfA + dfB)
		more, squareOverDF = borrow(more, oneUnit*(1/na+1/nb), more*more/squareOverDF, dfA+dfB)
	}
	return studentHalf(ownA+ownB, more, squareOverDF), true
}

// lent is the part that the common spread has in a variance that it enlarges.
const lent = 0.4

// borrow takes handfuls of both sides to spread more or less alike: where the variance from their common spread is larger than that of the sides
// apart it counts in part, and the degrees of freedom are half-way between Welch's and those of all units together. The two parts
// are chosen by simulation, so that 2 to 8 units a side, even and uneven, spreading alike or one twice the other, hold 90 to 98 %; see the
// package coverage.
func borrow(apart, common, welchDF, allDF float64) (variance, squareOverDF float64) {
	variance = max(apart, (1-lent)*apart+lent*common)
	return variance, variance * variance / ((welchDF + allDF) / 2)
}

// studentHalf is the half width from a known variance and an estimated one, whose square over its degrees of freedom is given.
func studentHalf(known, estimated, squareOverDF float64) float64 {
	all := known + estimated
	if squareOverDF == 0 {
		return stats.NormalQuantile(level) * math.Sqrt(all)
	}
	return stats.StudentQuantile(level, all*all/squareOverDF) * math.Sqrt(all)
}

// paired is value and half width of the mean of differences b - a of units taken in pairs, by Student's t, never
// less than the particles give by themselves.
func paired(a, b spreadOf) (value, half float64, ok bool) {
	n := a.units()
	if n < 2 || n != b.units() {
		return 0, 0, false
	}
	d := make([]float64, n)
	for i := range d {
		d[i] = b.num[i]/b.den[i] - a.num[i]/a.den[i]
	}
	mean, sd := stats.MeanSD(d)
	known := a.own*a.own + b.own*b.own
	beyond := max(0, sd*sd/float64(n)-known)
	return mean, studentHalf(known, beyond, beyond*beyond/float64(n-1)), true
}

// resampled is the percentile interval of b - a from whole units drawn with replacement on each side; nil where
// either side has too few.
func resampled(a, b spreadOf, seed uint64) *stats.Interval {
	if a.units() < enoughToResample || b.units() < enoughToResample {
		return nil
	}
	x, y := ratios(a, seed), ratios(b, seed+1)
	for i := range x {
		x[i] = y[i] - x[i]
	}
	slices.Sort(x)
	i := stats.Percentile(x, level)
	return &i
}

// resampledPairs is the percentile interval of the mean difference from whole pairs drawn with replacement; nil where there are too few.
func resampledPairs(a, b spreadOf, seed uint64) *stats.Interval {
	n := a.units()
	if n < enoughToResample || n != b.units() {
		return nil
	}
	r, means := stats.Rand(seed), make([]float64, replicates)
	for k := range means {
		for range n {
			i := r.IntN(n)
			means[k] += (b.num[i]/b.den[i] - a.num[i]/a.den[i]) / float64(n)
		}
	}
	slices.Sort(means)
	i := stats.Percentile(means, level)
	return &i
}

// ratios are those of units drawn with replacement, in the order drawn.
func ratios(s spreadOf, seed uint64) []float64 {
	r, out := stats.Rand(seed), make([]float64, replicates)
	for k := range out {
		var num, den float64
		for range s.den {
			i := r.IntN(len(s.den))
			num, den = num+s.num[i], den+s.den[i]
		}
		out[k] = num / den
	}
	return out
}

// mover joins the samples' own intervals into one of b - a (method of variance estimates recovery: Zou & Donner
// 2008, Stat. Med. 27:1693, of which Newcombe's interval is the case of counts).
func mover(a, b result.Estimate) stats.Interval {
	d := b.Value - a.Value
	return stats.Interval{
		Low:  d - math.Hypot(b.Value-b.Low, a.High-a.Value),
		High: d + math.Hypot(b.High-b.Value, a.Value-a.Low),
	}
}
