package stats

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Rand is the seeded source that all resampling here uses.
func Rand(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0x9e3779b97f4a7c15)) }

// Resample draws n of n indices with replacement, replicates times, and returns the sorted values of stat.
// stat may not keep the slice.
func Resample(n, replicates int, seed uint64, stat func(index []int) float64) []float64 {
	r, index, out := Rand(seed), make([]int, n), make([]float64, replicates)
	for b := range out {
		for i := range index {
			index[i] = r.IntN(n)
		}
		out[b] = stat(index)
	}
	slices.Sort(out)
	return out
}

// ResampleAll enumerates all n^n resamples: the exact bootstrap distribution, for n up to 7.
func ResampleAll(n int, stat func(index []int) float64) []float64 {
	index := make([]int, n)
	out := make([]float64, 0, int(math.Pow(float64(n), float64(n))))
	for {
		out = append(out, stat(index))
		at := n - 1
		for at >= 0 && index[at] == n-1 {
			index[at] = 0
			at--
		}
		if at < 0 {
			break
		}
		index[at]++
	}
	slices.Sort(out)
	return out
}

// Percentile is the percentile interval of sorted replicates. Efron & Tibshirani 1993, ch. 13.
func Percentile(sorted []float64, level float64) Interval {
	return Interval{orderStatistic(sorted, (1-level)/2), orderStatistic(sorted, (1+level)/2)}
}

// orderStatistic is the smallest value with at least a share q of the sorted values at or below it.
func orderStatistic(sorted []float64, q float64) float64 {
	if len(sorted) == 0 {
		return math.NaN()
	}
	at := int(math.Ceil(q*float64(len(sorted)))) - 1
	return sorted[min(max(at, 0), len(sorted)-1)]
}

// BiasCorrection is z0 of sorted replicates: the normal quantile of the share strictly below the
// estimate, values within rounding of it not counted.
func BiasCorrection(sorted []float64, estimate float64) float64 {
	edge := estimate - 1e-9*max(math.Abs(estimate), 1e-300)
	below, _ := slices.BinarySearch(sorted, edge)
	n := float64(len(sorted))
	share := min(max(float64(below)/n, 0.5/n), 1-0.5/n)
	return distuv.UnitNormal.Quantile(share)
}

// Acceleration is a = sum d^3 / (6 (sum d^2)^1.5) of influence values d: jackknife ones (see Jackknife) or
// plug-in ones, the empirical influence function. Efron & Tibshirani 1993, eq. 14.15.
func Acceleration(influence []float64) float64 {
	var two, three float64
	for _, d := range influence {
		two += d * d
		three += d * d * d
	}
	if !(two > 0) {
		return 0
	}
	return three / (6 * math.Pow(two, 1.5))
}

// Jackknife returns, for each of n data, the mean of the leave-one-out values minus the value without it.
// stat may not keep the slice.
func Jackknife(n int, stat func(index []int) float64) []float64 {
	out, index, mean := make([]float64, n), make([]int, 0, n), 0.0
	for i := range n {
		index = index[:0]
		for j := range n {
			if j != i {
				index = append(index, j)
			}
		}
		out[i] = stat(index)
		mean += out[i] / float64(n)
	}
	for i := range out {
		out[i] = mean - out[i]
	}
	return out
}

// BCa is the bias-corrected and accelerated interval of sorted replicates. Efron 1987, J. Am. Stat. Assoc. 82:171.
func BCa(sorted []float64, estimate, acceleration, level float64) Interval {
	z0 := BiasCorrection(sorted, estimate)
	end := func(q float64) float64 {
		z := z0 + distuv.UnitNormal.Quantile(q)
		return orderStatistic(sorted, distuv.UnitNormal.CDF(z0+z/(1-acceleration*z)))
	}
	return Interval{end((1 - level) / 2), end((1 + level) / 2)}
}

// StandardError is the root mean square deviation of replicates from their mean.
func StandardError(replicates []float64) float64 {
	var mean, square float64
	for _, v := range replicates {
		mean += v
	}
	mean /= float64(len(replicates))
	for _, v := range replicates {
		square += (v - mean) * (v - mean)
	}
	return math.Sqrt(square / float64(len(replicates)))
}
