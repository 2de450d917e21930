package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// PooledZ compares the shares x1/n1 and x2/n2 by the pooled two-sample z test: z > 0 where the first is
// larger, and the two-sided p value. Where nothing can differ (all or none succeed) z is 0 and p is 1.
func PooledZ(x1, n1, x2, n2 float64) (z, p float64) {
	pool := (x1 + x2) / (n1 + n2)
	se := math.Sqrt(pool * (1 - pool) * (1/n1 + 1/n2))
	if !(se > 0) {
		return 0, 1
	}
	z = (x1/n1 - x2/n2) / se
	return z, 2 * distuv.UnitNormal.Survival(math.Abs(z))
}

// FisherExact is the two-sided p value of Fisher's exact test of x1 of n1 against x2 of n2: the sum over
// all tables with the same margins that are no likelier than the one seen.
func FisherExact(x1, n1, x2, n2 int) float64 {
	if x1 < 0 || x2 < 0 || x1 > n1 || x2 > n2 {
		return 1
	}
	hits := x1 + x2
	logP := func(x int) float64 {
		return logChoose(n1, x) + logChoose(n2, hits-x) - logChoose(n1+n2, hits)
	}
	seen, sum := logP(x1), 0.0
	for x := max(0, hits-n2); x <= min(n1, hits); x++ {
		if l := logP(x); l <= seen+1e-9 { // equal likelihoods differ by rounding only
			sum += math.Exp(l)
		}
	}
	return min(sum, 1)
}

func logChoose(n, k int) float64 {
	a, _ := math.Lgamma(float64(n + 1))
	b, _ := math.Lgamma(float64(k + 1))
	c, _ := math.Lgamma(float64(n - k + 1))
	return a - b - c
}

// PoissonExact is the exact interval of the mean of a Poisson count. Garwood 1936, Biometrika 28:437.
func PoissonExact(count int, level float64) Interval {
	if count < 0 {
		return Interval{0, math.Inf(1)}
	}
	tail, got := (1-level)/2, Interval{}
	if count > 0 {
		got.Low = mathext.GammaIncRegInv(float64(count), tail)
	}
	got.High = mathext.GammaIncRegInv(float64(count)+1, 1-tail)
	return got
}
