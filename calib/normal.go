package calib

import (
	"gonum.org/v1/gonum/mat"

	"gristmark/internal/result"
)

// jacobianSteps are the steps of the parameters for numerical derivatives.
var jacobianSteps = [nParams]float64{1e-6, 1e-6, 1e-6, 1e-3, 1e-3, 1e-3, 1e-6, 1e-3, 1e-3, 1e-6, 1e-6, 1e-3}

// shifted are the views with each parameter moved by its step.
func (v *view) shifted() *[nParams]view {
	var out [nParams]view
	for i := range nParams {
		out[i] = *v
		if i != pSpread { // it moves no point
			out[i].p[i] += jacobianSteps[i]
			out[i].set()
		}
	}
	return &out
}

// derivatives of a point's image by each parameter.
func (v *view) derivatives(shifted *[nParams]view, mm result.XY) (out [nParams]result.XY) {
	q := v.toPx(mm)
	for i := range nParams {
		if i != pSpread {
			s := shifted[i].toPx(mm)
			out[i] = result.XY{(s[0] - q[0]) / jacobianSteps[i], (s[1] - q[1]) / jacobianSteps[i]}
		}
	}
	return out
}

// linearise gives the normal equations and the cost at v, and in at, as long as obs, what was compared.
func linearise(v *view, obs []observation, pr prior, at []frozen) (a *mat.SymDense, b []float64, cost float64) {
	shifted := v.shifted()
	var aa [nParams][nParams]float64
	b = make([]float64, nParams)
	for k := range obs {
		o := &obs[k]
		if o.dropped {
			continue
		}
		z := o.freeze(v)
		at[k] = z
		r := o.residual(v, z)
		jx := v.derivatives(shifted, z.mm)
		for d := range z.k {
			w := huber(r[d]/o.sd, huberLimit) / (o.sd * o.sd)
			cost += huberCost(r[d]/o.sd, huberLimit)
			var j [nParams]float64
			for i := range nParams {
				j[i] = jx[i][0]*z.n[d][0] + jx[i][1]*z.n[d][1]
			}
			if d == 0 {
				j[pSpread] = o.spread
			}
			for i := range nParams {
				wj := w * j[i]
				b[i] += wj * r[d]
				for l := i; l < nParams; l++ {
					aa[i][l] += wj * j[l]
				}
			}
		}
	}
	a = mat.NewSymDense(nParams, nil)
	for i := range nParams {
		for l := i; l < nParams; l++ {
			a.SetSym(i, l, aa[i][l])
		}
	}
	cost += addPrior(v, a, b, pr)
	return a, b, cost
}

// totalCost is the same sum as linearise's cost.
func totalCost(v *view, obs []observation, pr prior) float64 {
	at := make([]frozen, len(obs))
	for k := range obs {
		if !obs[k].dropped {
			at[k] = obs[k].freeze(v)
		}
	}
	return frozenCost(v, obs, pr, at)
}

// frozenCost is the sum with the points of the lines held where they were when it was last linearised.
func frozenCost(v *view, obs []observation, pr prior, at []frozen) (cost float64) {
	for k := range obs {
		o := &obs[k]
		if o.dropped {
			continue
		}
		r := o.residual(v, at[k])
		for d := range at[k].k {
			cost += huberCost(r[d]/o.sd, huberLimit)
		}
	}
	for i := range nParams {
		if pr.held[i] {
			e := (pr.mean[i] - v.p[i]) / pr.sd[i]
			cost += e * e
		}
	}
	if pr.tiltSD > 0 {
		e := v.tiltAboutX() / pr.tiltSD
		cost += e * e
	}
	return cost
}
