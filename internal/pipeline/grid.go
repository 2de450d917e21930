package pipeline

import (
	"math"

	"gristmark/internal/result"
)

// planeMap is the part of a tray plane that drawing needs.
type planeMap interface {
	ToMM(px result.XY) result.XY
	ToPx(mm result.XY) result.XY
}

// planeGrid gives lines of round pitch through origin (mm) on the tray plane as the photo shows them, some ten each way.
func planeGrid(plane planeMap, origin result.XY, width, height int) (lines [][]result.XY, pitchMM float64) {
	low, high := viewMM(plane, float64(width), float64(height))
	span := math.Max(high[0]-low[0], high[1]-low[1])
	if !finite(span) || span <= 0 {
		return nil, 0
	}
	pitchMM = roundPitch(span / 10)
	for axis := range 2 {
		o := origin[axis]
		for k := math.Ceil((low[axis] - o) / pitchMM); o+k*pitchMM <= high[axis]; k++ {
			from, to := low, high
			from[axis], to[axis] = o+k*pitchMM, o+k*pitchMM
			lines = append(lines, linePx(plane, from, to))
		}
	}
	return lines, pitchMM
}

// viewMM is the box on the tray plane that the photo's middle nine tenths span.
func viewMM(plane planeMap, w, h float64) (low, high result.XY) {
	const m = 0.05
	low, high = result.XY{math.Inf(1), math.Inf(1)}, result.XY{math.Inf(-1), math.Inf(-1)}
	for _, c := range []result.XY{{m * w, m * h}, {w - m*w, m * h}, {w - m*w, h - m*h}, {m * w, h - m*h}} {
		p := plane.ToMM(c)
		for k := range 2 {
			low[k], high[k] = math.Min(low[k], p[k]), math.Max(high[k], p[k])
		}
	}
	return low, high
}

func linePx(plane planeMap, from, to result.XY) []result.XY {
	const pieces = 24 // a lens may bend it
	line := make([]result.XY, 0, pieces+1)
	for i := range pieces + 1 {
		t := float64(i) / pieces
		p := plane.ToPx(result.XY{from[0] + t*(to[0]-from[0]), from[1] + t*(to[1]-from[1])})
		if finite(p[0], p[1]) {
			line = append(line, p)
		}
	}
	return line
}

// roundPitch is the largest of 1, 2, 5, 10, 20, 50 … that is not above v.
func roundPitch(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, f := range []float64{5, 2} {
		if f*p <= v {
			return f * p
		}
	}
	return p
}
