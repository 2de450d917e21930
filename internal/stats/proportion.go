package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Wilson is the score interval of a share of successes among n trials. Both may be expected counts,
// not whole numbers. Wilson 1927, J. Am. Stat. Assoc. 22:209.
func Wilson(successes, n, level float64) Interval {
	return WilsonAt(successes, n, NormalQuantile(level))
}

// WilsonAt is Wilson with the quantile given: a t quantile where n itself is estimated.
func WilsonAt(successes, n, quantile float64) Interval {
	if !(n > 0) || !(successes >= 0) || successes > n {
		return Interval{0, 1}
	}
	p, q2 := successes/n, quantile*quantile
	centre := (p + q2/(2*n)) / (1 + q2/n)
	half := quantile / (1 + q2/n) * math.Sqrt(p*(1-p)/n+q2/(4*n*n))
	got := Interval{centre - half, centre + half}.Clip(0, 1)
	if successes == 0 {
		got.Low = 0
	}
	if successes == n {
		got.High = 1
	}
	return got
}

// ClopperPearson is the exact interval of a share: it covers at least level whatever the truth.
// Clopper & Pearson 1934, Biometrika 26:404.
func ClopperPearson(successes, n int, level float64) Interval {
	if n <= 0 || successes < 0 || successes > n {
		return Interval{0, 1}
	}
	tail, x, m := (1-level)/2, float64(successes), float64(n)
	got := Interval{0, 1}
	if successes > 0 {
		got.Low = mathext.InvRegIncBeta(x, m-x+1, tail)
	}
	if successes < n {
		got.High = mathext.InvRegIncBeta(x+1, m-x, 1-tail)
	}
	return got
}

// NewcombeDifference is the interval of share x1/n1 minus share x2/n2, from the two Wilson intervals
// (hybrid score, method 10). Newcombe 1998, Stat. Med. 17:873.
func NewcombeDifference(x1, n1, x2, n2, level float64) Interval {
	if !(n1 > 0) || !(n2 > 0) {
		return Interval{-1, 1}
	}
	p1, p2 := x1/n1, x2/n2
	a, b := Wilson(x1, n1, level), Wilson(x2, n2, level)
	d := p1 - p2
	return Interval{
		d - math.Hypot(p1-a.Low, b.High-p2),
		d + math.Hypot(a.High-p1, p2-b.Low),
	}.Clip(-1, 1)
}
