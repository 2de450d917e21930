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
type spreadOf struct{ num, den, within []float64 }

func collect(s Side, measure string) spreadOf {
	var out spreadOf
	for _, u := range s.Units {
		if r, ok := u.Readings[measure]; ok && r.Weight > 0 {
			out.num = append(out.num, r.Value*r.Weight)
			out.den = append(out.den, r.Weight)
			out.within = append(out.within, r.Within)
		}
	}
	return out
}

// units is the number of readings.
func (s spreadOf) units() int { return len(s.den) }

// pooledSE is the standard error that the units show by themselves, the spread between them left out.
func (s spreadOf) pooledSE() float64 {
	var square, total float64
	for i, w := range s.den {
		square += w * w * s.within[i] * s.within[i]
		total += w
	}
	if !(total > 0) {
		return 0
	}
	return math.Sqrt(square) / total
}

// unpaired is the half width of the difference of two independent sides: Student's with Welch's degrees of freedom over
// units (Welch 1947, Biometrika 34:28), and never less than the units' own errors give.
func unpaired(a, b spreadOf) (half float64, ok bool) {
	if a.units() < 2 || b.units() < 2 {
		return 0, false
	}
	seA, dfA := stats.RatioError(a.num, a.den)
	seB, dfB := stats.RatioError(b.num, b.den)
	vA, vB := seA*seA, seB*seB
	floor := stats.NormalQuantile(level) * math.Hypot(a.pooledSE(), b.pooledSE())
	if vA+vB == 0 {
		return floor, true
	}
	df := (vA + vB) * (vA + vB) / (vA*vA/dfA + vB*vB/dfB)
	return max(floor, stats.StudentQuantile(level, df)*math.Sqrt(vA+vB)), true
}

// paired is value and half width of the mean of differences b - a of units taken in pairs, by Student's t, never
// less than the units' own errors give.
func paired(a, b spreadOf) (value, half float64, ok bool) {
	n := a.units()
	if n < 2 || n != b.units() {
		return 0, 0, false
	}
	d := make([]float64, n)
	own := 0.0
	for i := range d {
		d[i] = b.num[i]/b.den[i] - a.num[i]/a.den[i]
		own += a.within[i]*a.within[i] + b.within[i]*b.within[i]
	}
	mean, sd := stats.MeanSD(d)
	half = stats.StudentQuantile(level, float64(n-1)) * sd / math.Sqrt(float64(n))
	return mean, max(half, stats.NormalQuantile(level)*math.Sqrt(own)/float64(n)), true
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
