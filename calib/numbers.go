package calib

import (
	"math"
	"slices"

	"gristmark/internal/result"
)

// median of the values, which it leaves as they are; NaN for none.
func median(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	var few [16]float64 // most are few: those need no memory of their own
	s := append(few[:0], v...)
	slices.Sort(s)
	if n := len(s); n%2 == 0 {
		return (s[n/2-1] + s[n/2]) / 2
	}
	return s[len(s)/2]
}

func sub(a, b result.XY) result.XY { return result.XY{a[0] - b[0], a[1] - b[1]} }

func add(a, b result.XY, t float64) result.XY { return result.XY{a[0] + t*b[0], a[1] + t*b[1]} }

func dot(a, b result.XY) float64 { return a[0]*b[0] + a[1]*b[1] }

func cross(a, b result.XY) float64 { return a[0]*b[1] - a[1]*b[0] }

func dist(a, b result.XY) float64 { return math.Hypot(a[0]-b[0], a[1]-b[1]) }

func unit(a result.XY) result.XY {
	l := math.Hypot(a[0], a[1])
	return result.XY{a[0] / l, a[1] / l}
}
