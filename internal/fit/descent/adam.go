// Package descent fits the weights of small models.
package descent

import "math"

// Adam is Kingma & Ba 2015 (arXiv:1412.6980) with decoupled weight decay.
type Adam struct {
	m, v []float64
	t    int
}

// NewAdam starts a descent over n weights.
func NewAdam(n int) *Adam { return &Adam{make([]float64, n), make([]float64, n), 0} }

// Step moves the weights w against the gradient g summed over n examples.
func (a *Adam) Step(w, g []float64, rate, n float64) {
	a.t++
	c1, c2 := 1-math.Pow(0.9, float64(a.t)), 1-math.Pow(0.999, float64(a.t))
	for i := range w {
		d := g[i] / n
		a.m[i] = 0.9*a.m[i] + 0.1*d
		a.v[i] = 0.999*a.v[i] + 0.001*d*d
		w[i] -= rate * (a.m[i]/c1/(math.Sqrt(a.v[i]/c2)+1e-8) + 3e-3*w[i])
	}
}

// Round keeps five decimals, so that a model reads the same from file as it was fitted.
func Round(v []float64) []float64 {
	out := make([]float64, len(v))
	for i, x := range v {
		out[i] = math.Round(x*1e5) / 1e5
	}
	return out
}
