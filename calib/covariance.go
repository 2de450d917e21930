package calib

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// finish computes residual and covariance.
func finish(v view, obs []observation, pr prior) (fitted, bool) {
	out := fitted{view: v, sigma: 1}
	n, sum, chi := 0, 0.0, 0.0
	for k := range obs {
		o := &obs[k]
		if o.dropped {
			continue
		}
		z := o.freeze(&v)
		r := o.residual(&v, z)
		for d := range z.k {
			sum += r[d] * r[d]
			chi += min(r[d]*r[d]/(o.sd*o.sd), 25)
			n++
		}
		out.used++
	}
	if n == 0 || math.IsNaN(sum) {
		return out, false
	}
	out.rms = math.Sqrt(sum / float64(n))
	out.sigma = math.Max(1, math.Sqrt(chi/math.Max(1, float64(n-8))))
	var ok bool
	out.cov, ok = covariance(v, obs, pr, out.sigma)
	return out, ok
}

// covariance inverts the normal equations, their weights lowered by sigma squared.
func covariance(v view, obs []observation, pr prior, sigma float64) (*mat.SymDense, bool) {
	a, _, _ := linearise(&v, obs, prior{}, make([]frozen, len(obs)))
	a.ScaleSym(1/(sigma*sigma), a)
	addPrior(&v, a, make([]float64, nParams), pr)
	// Scaled to a unit diagonal first: the parameters' units differ by orders of magnitude.
	s := make([]float64, nParams)
	for i := range s {
		s[i] = 1 / math.Sqrt(math.Max(a.At(i, i), 1e-30))
	}
	rescale(a, s)
	var chol mat.Cholesky
	if !chol.Factorize(a) {
		return nil, false
	}
	cov := mat.NewSymDense(nParams, nil)
	if err := chol.InverseTo(cov); err != nil {
		return nil, false
	}
	rescale(cov, s)
	return cov, true
}

// rescale multiplies each element by the scales of its row and its column.
func rescale(m *mat.SymDense, s []float64) {
	for i := range s {
		for j := i; j < len(s); j++ {
			m.SetSym(i, j, m.At(i, j)*s[i]*s[j])
		}
	}
}

// sdOf propagates the covariance to a function of the view (the delta method).
func (f *fitted) sdOf(fn func(*view) float64) float64 {
	at := fn(&f.view)
	g := mat.NewVecDense(nParams, nil)
	for i := range nParams {
		v := f.view
		v.p[i] += jacobianSteps[i]
		v.set()
		g.SetVec(i, (fn(&v)-at)/jacobianSteps[i])
	}
	return math.Sqrt(math.Max(0, mat.Inner(g, f.cov, g)))
}
