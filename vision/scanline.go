package vision

import (
	"math"
	"slices"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// eachSpan calls f for the runs of pixels x0..x1 (inclusive) of row y whose centres lie inside the
// outline, by the even-odd rule, clipped to w × h.
func eachSpan(o []result.XY, w, h int, f func(y, x0, x1 int)) {
	if len(o) < 3 {
		return
	}
	lo, hi := shape.Bounds(o)
	first, last := max(0, int(lo[1]-0.5)), min(h-1, int(hi[1]+0.5))
	if last < first {
		return
	}
	rows := crossingsByRow(o, first, last)
	for k, xs := range rows {
		slices.Sort(xs)
		for j := 0; j+1 < len(xs); j += 2 {
			x0, x1 := max(0, int(math.Ceil(xs[j]-0.5))), min(w-1, int(math.Floor(xs[j+1]-0.5)))
			if x1 >= x0 {
				f(first+k, x0, x1)
			}
		}
	}
}

// crossingsByRow is where the outline crosses the centre line of each row from first to last.
func crossingsByRow(o []result.XY, first, last int) [][]float64 {
	rows := make([][]float64, last-first+1)
	store := make([]float64, 4*len(rows)) // most rows are crossed twice
	for k := range rows {
		rows[k] = store[4*k : 4*k : 4*k+4]
	}
	for i, a := range o {
		b := o[(i+1)%len(o)]
		if a[1] > b[1] {
			a, b = b, a
		}
		// rows whose centre c satisfies a <= c < b
		y0, y1 := max(first, int(math.Ceil(a[1]-0.5))), min(last, int(math.Ceil(b[1]-0.5))-1)
		for y := y0; y <= y1; y++ {
			t := (float64(y) + 0.5 - a[1]) / (b[1] - a[1])
			rows[y-first] = append(rows[y-first], a[0]+t*(b[0]-a[0]))
		}
	}
	return rows
}
