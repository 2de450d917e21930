package stats

import "gonum.org/v1/gonum/stat/distuv"

// Interval is a closed range of plausible values.
type Interval struct {
	Low, High float64
}

// Width is High - Low.
func (i Interval) Width() float64 { return i.High - i.Low }

// Holds reports whether v lies in the interval, its ends included.
func (i Interval) Holds(v float64) bool { return v >= i.Low && v <= i.High }

// Join is the smallest interval that covers both.
func (i Interval) Join(o Interval) Interval {
	return Interval{min(i.Low, o.Low), max(i.High, o.High)}
}

// Clip cuts the interval to low..high.
func (i Interval) Clip(low, high float64) Interval {
	return Interval{min(max(i.Low, low), high), min(max(i.High, low), high)}
}

// Scale multiplies both ends by a factor >= 0.
func (i Interval) Scale(factor float64) Interval { return Interval{i.Low * factor, i.High * factor} }

// NormalQuantile is the two-sided standard normal quantile of a level: 1.96 at 0.95.
func NormalQuantile(level float64) float64 {
	return distuv.UnitNormal.Quantile((1 + level) / 2)
}

// StudentQuantile is the two-sided quantile of Student's t at a level; beyond 1e6 degrees of freedom
// the normal one. Fewer than one degree of freedom is taken as one.
func StudentQuantile(level, df float64) float64 {
	if df > 1e6 {
		return NormalQuantile(level)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(df, 1)}.Quantile((1 + level) / 2)
}
