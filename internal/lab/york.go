package lab

import (
	"errors"
	"math"
)

// Line is y = Intercept + Slope x fitted with errors in both variables.
type Line struct {
	Intercept   float64 `json:"intercept"`
	Slope       float64 `json:"slope"`
	InterceptSE float64 `json:"intercept_se"`
	SlopeSE     float64 `json:"slope_se"`
	Covariance  float64 `json:"covariance"` // of intercept and slope
	Chi2        float64 `json:"chi2"`       // weighted sum of squared residuals; about N - 2 where the errors explain the scatter
	N           int     `json:"n"`
}

// FitLine fits by York's method: points x, y with standard deviations sx, sy > 0. It panics on slices of unequal length.
func FitLine(x, y, sx, sy []float64) (Line, error) {
	if len(x) != len(y) || len(x) != len(sx) || len(x) != len(sy) {
		panic("lab: slices differ in length")
	}
	if len(x) < 3 {
		return Line{}, errors.New("lab: a line with errors needs three points")
	}
	b := startSlope(x, y)
	f := york{x: x, y: y, sx: sx, sy: sy}
	for range 500 {
		next := f.step(b)
		if math.IsNaN(next) || math.IsInf(next, 0) {
			return Line{}, errors.New("lab: the line does not settle; the points do not lie along one")
		}
		if math.Abs(next-b) <= 1e-13*(1+math.Abs(b)) {
			return f.line(next), nil
		}
		b = next
	}
	return f.line(b), nil
}

// startSlope is the geometric mean slope, with the sign of the covariance.
func startSlope(x, y []float64) float64 {
	mx, my := mean(x), mean(y)
	var xx, yy, xy float64
	for i := range x {
		xx += (x[i] - mx) * (x[i] - mx)
		yy += (y[i] - my) * (y[i] - my)
		xy += (x[i] - mx) * (y[i] - my)
	}
	if xx == 0 {
		return 1
	}
	return math.Copysign(math.Sqrt(yy/xx), xy)
}

type york struct{ x, y, sx, sy []float64 }

// at gives for a slope the weights, the weighted centre and the adjusted distances from it.
func (f york) at(b float64) (w, beta []float64, cx, cy float64) {
	var sum float64
	w, beta = make([]float64, len(f.x)), make([]float64, len(f.x))
	for i := range f.x {
		w[i] = 1 / (f.sy[i]*f.sy[i] + b*b*f.sx[i]*f.sx[i])
		sum += w[i]
		cx += w[i] * f.x[i]
		cy += w[i] * f.y[i]
	}
	cx, cy = cx/sum, cy/sum
	for i := range f.x {
		beta[i] = w[i] * ((f.x[i]-cx)*f.sy[i]*f.sy[i] + b*(f.y[i]-cy)*f.sx[i]*f.sx[i])
	}
	return w, beta, cx, cy
}

func (f york) step(b float64) float64 {
	w, beta, cx, cy := f.at(b)
	var num, den float64
	for i := range w {
		num += w[i] * beta[i] * (f.y[i] - cy)
		den += w[i] * beta[i] * (f.x[i] - cx)
	}
	return num / den
}

func (f york) line(b float64) Line {
	w, beta, cx, cy := f.at(b)
	l := Line{Slope: b, Intercept: cy - b*cx, N: len(w)}
	var sum, centre, spread float64
	for i := range w {
		sum += w[i]
		centre += w[i] * (cx + beta[i])
		r := f.y[i] - b*f.x[i] - l.Intercept
		l.Chi2 += w[i] * r * r
	}
	centre /= sum
	for i := range w {
		u := cx + beta[i] - centre
		spread += w[i] * u * u
	}
	v := 1 / spread
	l.SlopeSE, l.InterceptSE, l.Covariance = math.Sqrt(v), math.Sqrt(1/sum+centre*centre*v), -centre*v
	return l
}

func mean(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s / float64(len(x))
}
