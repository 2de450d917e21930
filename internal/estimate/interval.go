package estimate

import (
	"math"

	"gristmark/internal/result"
	"gristmark/internal/stats"
)

// share is the figure as a percentage with its interval within 0..100; nil where fewer than the given number of particles carry it.
func (f figure) share(level, atLeast float64) *result.Estimate {
	if math.IsNaN(f.value) || f.units < atLeast {
		return nil
	}
	p := min(max(f.value, 0), 1)
	n, df := f.explains(p)
	t := stats.StudentQuantile(level, df)
	got := f.leaning(stats.WilsonAt(p*n, n, t), t).Clip(0, 1)
	if half := f.betweenHalf(level); !math.IsInf(half, 1) {
		got = got.Join(stats.Interval{Low: p - half, High: p + half}).Clip(0, 1)
	}
	got.Low, got.High = min(got.Low, p), max(got.High, p)
	return &result.Estimate{Value: 100 * p, Low: 100 * got.Low, High: 100 * got.High, Level: level}
}

// explains is the number of independent particles whose binomial variance is that of the figure, and its degrees of freedom. Near 0
// and 1, where the variance seen says little, it is held to the effective number of particles; in the middle it may be larger, as
// masses go with passing.
func (f figure) explains(p float64) (n, df float64) {
	binomial := p * (1 - p)
	most := f.units * (1 + 2*min(1, f.units*binomial/4))
	if n = binomial / f.variance; !(n < most) {
		return most, max(f.df, f.units-1)
	}
	return max(n, 1e-3), f.df
}

// betweenHalf is the half width that the spread between photos gives, the doubts that all photos share added; +Inf for one photo. Photos
// differ by their particles' own scatter, which all particles together tell, and by what handfuls differ beyond it: only the latter
// is estimated from as few as the photos are, so only it lowers the degrees of freedom of Student's t (Satterthwaite 1946, Biometrics Bull. 2:110).
func (f figure) betweenHalf(level float64) float64 {
	if f.photos < 1 {
		return math.Inf(1)
	}
	sampling := max(0, f.variance-f.model)
	beyond := max(0, f.between*f.between-sampling)
	all := sampling + beyond + f.model
	if beyond == 0 {
		return stats.NormalQuantile(level) * math.Sqrt(all)
	}
	return stats.StudentQuantile(level, f.photos*all*all/(beyond*beyond)) * math.Sqrt(all)
}

// exp is the figure, a mean of logarithms, as a geometric mean with its interval.
func (f figure) exp(level, atLeast float64) *result.Estimate {
	if math.IsNaN(f.value) || f.units < atLeast {
		return nil
	}
	t := stats.StudentQuantile(level, f.df)
	half := t * math.Sqrt(f.variance)
	if other := f.betweenHalf(level); !math.IsInf(other, 1) {
		half = max(half, other)
	}
	got := f.leaning(stats.Interval{Low: f.value - half, High: f.value + half}, t)
	return &result.Estimate{Value: math.Exp(f.value), Low: math.Exp(got.Low), High: math.Exp(got.High), Level: level}
}

// leaning lengthens an interval on the side of the particles' skewness. A few large pieces carry much of a figure that goes by area or
// mass: most samples hold too few of them, and Student's t then misses the lot on one side. The bound moves by the term of first order
// in the skewness (Johnson 1978, J. Am. Stat. Assoc. 73:536), at most by half of what t gives; the other bound stays.
func (f figure) leaning(i stats.Interval, t float64) stats.Interval {
	se := math.Sqrt(max(0, f.variance-f.model))
	by := min(math.Abs(f.skew)/6*(1+2*t*t), t/2) * se
	if f.skew > 0 {
		i.High += by
	} else {
		i.Low -= by
	}
	return i
}
