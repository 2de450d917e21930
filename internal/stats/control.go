package stats

import "math"

// ControlLimits are those of a chart of individuals with its moving range.
type ControlLimits struct {
	Centre, Low, High float64 // of the individuals
	MeanRange         float64 // mean of |x[i] - x[i-1]|
	RangeHigh         float64 // upper limit of the moving range
}

// Constants of ranges of two values: d2 = 2/sqrt(pi), and D4 = 1 + 3 d3/d2 with d3 = sqrt(2 - 4/pi).
var (
	d2 = 2 / math.Sqrt(math.Pi)
	d4 = 1 + 3*math.Sqrt(2-4/math.Pi)/d2
)

// IndividualsLimits computes three-sigma limits of single values in time order, sigma from the mean moving
// range over 1.128 (Shewhart; ISO 7870-2:2013, from memory). Fewer than two values: limits without bound.
func IndividualsLimits(x []float64) ControlLimits {
	mean, _ := MeanSD(x)
	if len(x) < 2 {
		return ControlLimits{Centre: mean, Low: math.Inf(-1), High: math.Inf(1), RangeHigh: math.Inf(1)}
	}
	var r float64
	for i := 1; i < len(x); i++ {
		r += math.Abs(x[i]-x[i-1]) / float64(len(x)-1)
	}
	return ControlLimits{mean, mean - 3*r/d2, mean + 3*r/d2, r, d4 * r}
}
