package calib

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// fitted is a view with its covariance.
type fitted struct {
	view
	cov *mat.SymDense // of the parameters
	rms float64       // px, over the observations used
	// sigma is the factor by which residuals exceed the stated standard deviations, at least 1.
	sigma float64
	used  int
}

// What fits stop at: the share of the cost that one more step gains.
const (
	roughly = 1e-3 // where the observations will be looked at again
	finely  = 1e-5
)

// fit finds the view that explains the observations best, from a start, by Levenberg-Marquardt with
// Huber weights. obs marked as dropped count for nothing.
func fit(start view, obs []observation, pr prior, enough float64) (fitted, bool) {
	v := start
	v.set()
	lambda := 1e-3
	at := make([]frozen, len(obs))
	for range 40 {
		a, b, cost := linearise(&v, obs, pr, at)
		if math.IsNaN(cost) || math.IsInf(cost, 0) {
			return fitted{}, false
		}
		next, gain := improve(v, obs, pr, at, a, b, cost, &lambda)
		v = next
		if gain < enough*(1+cost) {
			break
		}
	}
	return finish(v, obs, pr)
}

// improve tries steps of growing caution until the cost falls; it returns v itself and no gain when
// none helps.
func improve(v view, obs []observation, pr prior, at []frozen, a *mat.SymDense, b []float64, cost float64, lambda *float64) (view, float64) {
	for range 8 {
		if next, ok := step(v, a, b, *lambda); ok {
			if e := frozenCost(&next, obs, pr, at); e < cost {
				*lambda = max(*lambda/5, 1e-9)
				return next, cost - e
			}
		}
		*lambda *= 10
	}
	return v, 0
}

func step(v view, a *mat.SymDense, b []float64, lambda float64) (view, bool) {
	m := mat.NewSymDense(nParams, nil)
	m.CopySym(a)
	for i := range nParams {
		m.SetSym(i, i, a.At(i, i)*(1+lambda)+1e-12)
	}
	var chol mat.Cholesky
	if !chol.Factorize(m) {
		return v, false
	}
	var d mat.VecDense
	if err := chol.SolveVecTo(&d, mat.NewVecDense(nParams, b)); err != nil {
		return v, false
	}
	for i := range nParams {
		v.p[i] += d.AtVec(i)
	}
	v.set()
	return v, v.p[pMoveZ] > 0 && !math.IsNaN(v.p[pMoveZ])
}
