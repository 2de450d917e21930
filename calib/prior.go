package calib

import (
	"gonum.org/v1/gonum/mat"
)

// prior holds parameters near a value: mean and standard deviation; sd 0 fixes a parameter.
type prior struct {
	mean, sd [nParams]float64
	held     [nParams]bool // whether the prior counts
	// tiltSD, if not 0, is the standard deviation of the sine of the tilt about the plane's x axis,
	// with no tilt as its mean.
	tiltSD float64
}

// tiltAboutX is the sine of the tilt about the plane's x axis.
func (v *view) tiltAboutX() float64 {
	return rodrigues(v.p[pRotX], v.p[pRotY], v.p[pRotZ])[7]
}

func addPrior(v *view, a *mat.SymDense, b []float64, pr prior) (cost float64) {
	for i := range nParams {
		if !pr.held[i] {
			continue
		}
		w := 1 / (pr.sd[i] * pr.sd[i])
		e := pr.mean[i] - v.p[i]
		a.SetSym(i, i, a.At(i, i)+w)
		b[i] += w * e
		cost += w * e * e
	}
	if pr.tiltSD > 0 {
		cost += addTilt(v, a, b, pr.tiltSD)
	}
	return cost
}

// addTilt adds the prior on the tilt, which is of no single parameter.
func addTilt(v *view, a *mat.SymDense, b []float64, sd float64) float64 {
	w, e := 1/(sd*sd), v.tiltAboutX()
	var j [3]float64
	for i := range 3 {
		s := *v
		s.p[pRotX+i] += jacobianSteps[pRotX+i]
		j[i] = (s.tiltAboutX() - e) / jacobianSteps[pRotX+i]
	}
	for i := range 3 {
		b[pRotX+i] -= w * j[i] * e
		for k := i; k < 3; k++ {
			a.SetSym(pRotX+i, pRotX+k, a.At(pRotX+i, pRotX+k)+w*j[i]*j[k])
		}
	}
	return w * e * e
}
