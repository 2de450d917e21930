package calib

import (
	"math"
	"slices"

	"gristmark/internal/result"
)

// Limits of what counts as a regular pattern within a rectangle.
const (
	patternSamples = 400  // along a side
	patternBeats   = 4    // steps between dark and light, at least
	patternSpread  = 0.12 // s.d. of their spacing over its mean: pieces lie far less evenly
	patternLevels  = 0.08 // light and dark differ by so much, 0..1
	patternSides   = 3    // of the four
)

// patterned reports whether a regular pattern, such as a checkerboard's squares or tiles, runs along the inside of the
// rectangle: then any number of its lines make rectangles, and which one was meant cannot be told.
func (f *frameFit) patterned(p *picture, spec Spec, lens Lens) bool {
	q := Plane{fit: f.fit, lens: lens, unitMM: 1}
	w, h := spec.WidthMM, spec.HeightMM
	sides := 0
	for k := range 4 {
		for _, inset := range []float64{0.02, 0.04, 0.07, 0.10} {
			d := inset * math.Min(w, h)
			corners := [4]result.XY{{d, d}, {w - d, d}, {w - d, h - d}, {d, h - d}}
			a, b := corners[k], corners[(k+1)%4]
			if evenBeats(p.alongPlane(&q, a, b)) {
				sides++
				break
			}
		}
	}
	return sides >= patternSides
}

// alongPlane is the light along a line of the plane; what lies outside the photo is left out.
func (p *picture) alongPlane(q *Plane, a, b result.XY) []float64 {
	out := make([]float64, 0, patternSamples)
	for i := range patternSamples {
		px := q.ToPx(add(a, sub(b, a), (float64(i)+0.5)/patternSamples))
		if v := p.at(px[0], px[1]); v >= 0 {
			out = append(out, float64(v))
		}
	}
	return out
}

// evenBeats reports whether the values step from low to high, or between the two, at even spacing.
func evenBeats(v []float64) bool {
	if len(v) < patternSamples/2 {
		return false
	}
	sorted := slices.Sorted(slices.Values(v))
	lo, hi := sorted[len(v)/25], sorted[len(v)-1-len(v)/25]
	if hi-lo < patternLevels {
		return false
	}
	var up, all []float64
	low := v[0] < (lo+hi)/2
	for i, x := range v {
		switch {
		case low && x > lo+0.65*(hi-lo):
			up, all, low = append(up, float64(i)), append(all, float64(i)), false
		case !low && x < lo+0.35*(hi-lo):
			all, low = append(all, float64(i)), true
		}
	}
	return even(up) || even(all)
}

// even reports whether positions along a side lie at even spacing, over at least half of it.
func even(at []float64) bool {
	if len(at) < patternBeats {
		return false
	}
	n := float64(len(at) - 1)
	mean := (at[len(at)-1] - at[0]) / n
	sum := 0.0
	for i := 1; i < len(at); i++ {
		e := at[i] - at[i-1] - mean
		sum += e * e
	}
	return math.Sqrt(sum/n) < patternSpread*mean && mean*n > 0.45*patternSamples
}
