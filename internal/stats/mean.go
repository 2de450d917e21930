package stats

import "math"

// MeanSD returns the mean of x and its standard deviation over n-1; the latter is 0 for fewer than two values.
func MeanSD(x []float64) (mean, sd float64) {
	if len(x) == 0 {
		return math.NaN(), 0
	}
	for _, v := range x {
		mean += v / float64(len(x))
	}
	if len(x) < 2 {
		return mean, 0
	}
	for _, v := range x {
		sd += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(sd / float64(len(x)-1))
}

// StudentMean is Student's interval of the mean of x; with fewer than two values it is unbounded.
func StudentMean(x []float64, level float64) Interval {
	mean, sd := MeanSD(x)
	n := float64(len(x))
	if n < 2 {
		return Interval{math.Inf(-1), math.Inf(1)}
	}
	half := StudentQuantile(level, n-1) * sd / math.Sqrt(n)
	return Interval{mean - half, mean + half}
}
