package stats

import "math"

// Ratio is sum(num) / sum(den): the estimate of a share or mean from units of unequal size, and NaN where
// the denominators sum to nothing.
func Ratio(num, den []float64) float64 {
	var n, d float64
	for i := range num {
		n += num[i]
		d += den[i]
	}
	if !(d > 0) {
		return math.NaN()
	}
	return n / d
}

// RatioError is the standard error of Ratio over independent units (photos, boxes, loads) by linearisation,
// with the small-sample factor k/(k-1), and its degrees of freedom k-1. Cochran 1977, Sampling Techniques,
// 3rd ed., ch. 6. Fewer than two units that weigh anything: +Inf and 0.
func RatioError(num, den []float64) (se, df float64) {
	r, k, total, square := Ratio(num, den), 0.0, 0.0, 0.0
	for i := range num {
		if den[i] <= 0 {
			continue
		}
		e := num[i] - r*den[i]
		square += e * e
		total += den[i]
		k++
	}
	if k < 2 {
		return math.Inf(1), 0
	}
	return math.Sqrt(k/(k-1)*square) / total, k - 1
}

// EffectiveUnits is Kish's effective number of units of unequal weight, (sum w)^2 / sum w^2.
func EffectiveUnits(weight []float64) float64 {
	var sum, square float64
	for _, w := range weight {
		sum += w
		square += w * w
	}
	if !(square > 0) {
		return 0
	}
	return sum * sum / square
}

// VarianceDF is the degrees of freedom that a sum of squares of independent residuals carries, by matching
// its first two moments: n for normal residuals, fewer where a few large ones dominate. Within 1..n-1.
func VarianceDF(residual []float64) float64 {
	var two, four float64
	n := float64(len(residual))
	for _, e := range residual {
		two += e * e
		four += e * e * e * e
	}
	if n < 2 || !(two > 0) {
		return 1
	}
	spread := four/(two*two) - 1/n
	if spread <= 0 {
		return n - 1
	}
	return min(max(2/spread, 1), n-1)
}

// ClusterResample draws whole units with replacement and returns the sorted ratios; draws without any
// denominator are left out.
func ClusterResample(num, den []float64, replicates int, seed uint64) []float64 {
	out := Resample(len(num), replicates, seed, func(index []int) float64 {
		var n, d float64
		for _, i := range index {
			n += num[i]
			d += den[i]
		}
		if !(d > 0) {
			return math.Inf(1)
		}
		return n / d
	})
	for len(out) > 0 && math.IsInf(out[len(out)-1], 1) {
		out = out[:len(out)-1]
	}
	return out
}
