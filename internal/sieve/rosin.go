package sieve

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/optimize"
	"gonum.org/v1/gonum/stat"
)

// RosinRammler is R = exp(-(x/x')^n), R the fraction coarser than x.
type RosinRammler struct {
	Fit     string   `json:"fit"` // "straight line" of ln(-ln R) on ln x, or "least squares" on R itself
	ScaleMM float64  `json:"scale_mm"`
	N       float64  `json:"n"`
	R2      *float64 `json:"r2"`      // of the straight line; nil for the other
	RMSPct  *float64 `json:"rms_pct"` // root mean square of observed less fitted, percent points
	Points  int      `json:"points"`  // sieves that carry the fit
	Mean    float64  `json:"mean_mm"` // of the fitted distribution
	SD      float64  `json:"sd_mm"`   // of the fitted distribution
	Median  float64  `json:"median_mm"`
}

// Retained is the fraction coarser than x, 0..1.
func (r RosinRammler) Retained(x float64) float64 { return math.Exp(-math.Pow(x/r.ScaleMM, r.N)) }

// intercept is that of the straight line, ln(-ln R) at ln x = 0.
func (r RosinRammler) intercept() float64 { return -r.N * math.Log(r.ScaleMM) }

// moments fills mean, s.d. and median of the fitted distribution.
func (r RosinRammler) moments() RosinRammler {
	g1, g2 := math.Gamma(1+1/r.N), math.Gamma(1+2/r.N)
	r.Mean, r.SD = r.ScaleMM*g1, r.ScaleMM*math.Sqrt(max(0, g2-g1*g1))
	r.Median = r.ScaleMM * math.Pow(math.Ln2, 1/r.N)
	return r
}

var errTooFew = errors.New("sieve: a Rosin-Rammler fit needs two sieves that hold back some but not all")

// usable keeps the points that have a place on the line: 0 < R < 1.
func usable(x, retained []float64) (ux, ur []float64) {
	for i := range x {
		if x[i] > 0 && retained[i] > 1e-12 && retained[i] < 1-1e-12 {
			ux, ur = append(ux, x[i]), append(ur, retained[i])
		}
	}
	return ux, ur
}

// FitLine fits the straight line of ln(-ln R) on ln x by least squares: sieve openings x, fractions retained
// cumulatively 0..1. Sieves that hold back nothing or all have no place on the line and are left out.
func FitLine(x, retained []float64) (RosinRammler, error) {
	ux, ur := usable(x, retained)
	if len(ux) < 2 {
		return RosinRammler{}, errTooFew
	}
	lx, ly := make([]float64, len(ux)), make([]float64, len(ux))
	for i := range ux {
		lx[i], ly[i] = math.Log(ux[i]), math.Log(-math.Log(ur[i]))
	}
	a, n := stat.LinearRegression(lx, ly, nil, false)
	if !(n > 0) || math.IsInf(n, 0) {
		return RosinRammler{}, errors.New("sieve: the fractions do not fall with the opening; no Rosin-Rammler fit")
	}
	r2 := stat.RSquared(lx, ly, nil, a, n)
	r := RosinRammler{Fit: "straight line", ScaleMM: math.Exp(-a / n), N: n, R2: &r2, Points: len(ux)}
	return r.finished(x, retained)
}

// FitLeastSquares fits R itself by non-linear least squares, from the straight line on. Every sieve counts.
func FitLeastSquares(x, retained []float64) (RosinRammler, error) {
	start, err := FitLine(x, retained)
	if err != nil {
		return RosinRammler{}, err
	}
	sum := func(p []float64) float64 {
		r := RosinRammler{ScaleMM: math.Exp(p[0]), N: math.Exp(p[1])}
		s := 0.0
		for i := range x {
			d := retained[i] - r.Retained(x[i])
			s += d * d
		}
		if math.IsNaN(s) {
			return math.Inf(1)
		}
		return s
	}
	best, err := optimize.Minimize(optimize.Problem{Func: sum}, []float64{math.Log(start.ScaleMM), math.Log(start.N)},
		&optimize.Settings{MajorIterations: 2000, Converger: &optimize.FunctionConverge{Absolute: 1e-16, Iterations: 200}}, &optimize.NelderMead{})
	if err != nil {
		return RosinRammler{}, fmt.Errorf("sieve: the least-squares fit did not settle: %w", err)
	}
	r := RosinRammler{Fit: "least squares", ScaleMM: math.Exp(best.X[0]), N: math.Exp(best.X[1]), Points: len(x)}
	return r.finished(x, retained)
}

// finished adds the misfit and the moments, and refuses a fit without finite numbers.
func (r RosinRammler) finished(x, retained []float64) (RosinRammler, error) {
	s := 0.0
	for i := range x {
		d := 100 * (retained[i] - r.Retained(x[i]))
		s += d * d
	}
	rms := math.Sqrt(s / float64(len(x)))
	r.RMSPct = &rms
	r = r.moments()
	for _, v := range []float64{r.ScaleMM, r.N, rms, r.Mean, r.SD, r.Median} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return RosinRammler{}, errors.New("sieve: the Rosin-Rammler fit has no finite numbers for these fractions")
		}
	}
	return r, nil
}
