package shape

import "math"

func sub(a, b XY) XY             { return XY{a[0] - b[0], a[1] - b[1]} }
func add(a, b XY) XY             { return XY{a[0] + b[0], a[1] + b[1]} }
func mul(a XY, k float64) XY     { return XY{a[0] * k, a[1] * k} }
func dot(a, b XY) float64        { return a[0]*b[0] + a[1]*b[1] }
func cross(a, b XY) float64      { return a[0]*b[1] - a[1]*b[0] }
func norm(a XY) float64          { return math.Sqrt(a[0]*a[0] + a[1]*a[1]) }
func dist(a, b XY) float64       { return norm(sub(a, b)) }
func lerp(a, b XY, t float64) XY { return XY{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])} }

// unit is the direction of a, or (1, 0) where a has none.
func unit(a XY) XY {
	d := norm(a)
	if !(d > 0) || math.IsInf(d, 0) {
		return XY{1, 0}
	}
	return XY{a[0] / d, a[1] / d}
}

// halfTurn brings the angle of an undirected line into (-π/2, π/2].
func halfTurn(a float64) float64 {
	a = math.Remainder(a, math.Pi)
	if a <= -math.Pi/2 {
		a += math.Pi
	}
	return a
}
