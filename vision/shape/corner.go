package shape

import (
	"math"
	"slices"
)

// Corner is a place where an outline turns.
type Corner struct {
	At   XY
	Turn float64 // between the chords before and after, rad, -π..π; > 0 on a bulge, < 0 in a notch
}

// Corners are the n sharpest turns of the outline, sharpest first, measured between chords of length
// scale on both sides and at least scale apart along the outline. A disc of radius r turns by
// 2·asin(scale/2r) everywhere, a right-angled corner by π/2 at any scale below its sides. Fewer than
// n where the outline is short.
func Corners(outline []XY, scale float64, n int) []Corner {
	const perScale = 8
	o := Resample(outline, scale/perScale)
	if len(o) < 2*perScale || n <= 0 {
		return nil
	}
	turn := turns(o, perScale)
	order := make([]int, len(o))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return compareDown(math.Abs(turn[a]), math.Abs(turn[b])) })
	var out []Corner
	taken := make([]bool, len(o))
	for _, i := range order {
		if taken[i] {
			continue
		}
		for k := -perScale; k <= perScale; k++ {
			taken[(i+k+len(o))%len(o)] = true
		}
		if out = append(out, Corner{o[i], turn[i]}); len(out) == n {
			break
		}
	}
	return out
}

// turns is the signed turn at each point between the chords to the points k before and k after,
// positive on bulges whichever way the outline runs.
func turns(o []XY, k int) []float64 {
	n := len(o)
	sign := math.Copysign(1, Area(o))
	out := make([]float64, n)
	for i := range o {
		a, b := sub(o[i], o[(i-k+n)%n]), sub(o[(i+k)%n], o[i])
		out[i] = sign * math.Atan2(cross(a, b), dot(a, b))
	}
	return out
}

// Curvature is the outline's turn per length, 1/unit, > 0 on bulges, at the points of
// Resample(outline, scale/8), smoothed over scale on either side. Nil where the outline is shorter than
// twice the scale.
func Curvature(outline []XY, scale float64) []float64 {
	const perScale = 8
	o := Resample(outline, scale/perScale)
	if len(o) < 2*perScale {
		return nil
	}
	out := turns(o, perScale)
	for i := range out {
		out[i] /= scale
	}
	return out
}

// StraightRun is the length of the longest stretch of the outline that stays within tolerance of a line
// through its start, and the two ends: a broken face, or the side of a chopped stalk. The outline is
// sampled at no more than 256 points, so the length is short by up to 1/128 of the perimeter.
func StraightRun(outline []XY, tolerance float64) (length float64, from, to XY) {
	o := outline
	if len(o) > 256 {
		o = Resample(outline, Perimeter(outline)/256)
	}
	if len(o) < 2 {
		return
	}
	for i := range o {
		if j := cone(o, i, tolerance); dist(o[i], o[j]) > length {
			length, from, to = dist(o[i], o[j]), o[i], o[j]
		}
	}
	return length, from, to
}

// cone is the last point after i such that one line through i passes within tolerance of all between
// (Imai & Iri 1986): the directions that do so form a wedge that narrows with every point.
func cone(o []XY, i int, tolerance float64) int {
	n, last, farthest := len(o), i, 0.0
	var axis XY
	lo, hi := -math.Pi/2, math.Pi/2
	for k := 1; k < n; k++ {
		j := (i + k) % n
		d := sub(o[j], o[i])
		r := norm(d)
		if r < farthest-tolerance { // turning back
			break
		}
		if r > tolerance {
			if axis == (XY{}) {
				axis = unit(d)
			}
			at, half := math.Atan2(cross(axis, d), dot(axis, d)), math.Asin(tolerance/r)
			if at < lo || at > hi {
				break
			}
			lo, hi = max(lo, at-half), min(hi, at+half)
		}
		last, farthest = j, max(farthest, r)
	}
	return last
}
