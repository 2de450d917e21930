package regress

import (
	"math"
	"slices"
)

// Quantile of v, which it sorts; NaN of nothing.
func Quantile(v []float64, q float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	slices.Sort(v)
	return v[int(q*float64(len(v)-1))]
}
