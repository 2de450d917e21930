package score

import (
	"math"
	"slices"
)

// Median is the middle value; NaN where there are none.
func Median(values []float64) float64 {
	if len(values) == 0 {
		return math.NaN()
	}
	sorted := slices.Sorted(slices.Values(values))
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}

// Abs returns the absolute values.
func Abs(values []float64) []float64 {
	out := make([]float64, len(values))
	for i, v := range values {
		out[i] = math.Abs(v)
	}
	return out
}

// Upper is the smallest value that at least the share p (0..1) of values does not exceed; NaN where
// there are none. With few values it is one of the largest: nothing is interpolated in their favour.
func Upper(values []float64, p float64) float64 {
	if len(values) == 0 {
		return math.NaN()
	}
	sorted := slices.Sorted(slices.Values(values))
	at := int(math.Ceil(p*float64(len(sorted)))) - 1
	return sorted[min(max(at, 0), len(sorted)-1)]
}
