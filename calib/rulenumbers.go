package calib

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// look finds which ticks show between the outermost anchors in use.
func (r *ruleFit) look(flat []float64) {
	started := false
	for i, k := range r.anchors {
		if r.used[i] {
			if !started || k.n < r.first {
				r.first = k.n
			}
			if !started || k.n > r.last {
				r.last = k.n
			}
			started = true
		}
	}
	least := 0.25 * upper(flat)
	for n := r.first; n <= r.last; n++ {
		at := r.place(float64(n))
		r.seen = append(r.seen, shows(flat, at, math.Abs(r.place(float64(n)+1)-at), least))
	}
}

// fitNumbers fits the place of a tick as a smooth function of its number; anchors that slipped
// by whole ticks are put right, outliers left out.
func (r *ruleFit) fitNumbers() bool {
	r.used = make([]bool, len(r.anchors))
	for i := range r.used {
		r.used[i] = true
	}
	for round := range 6 {
		if !r.solve() {
			return false
		}
		var size []float64
		misses := make([]float64, len(r.anchors))
		for i, k := range r.anchors {
			step := r.place(float64(k.n)+1) - r.place(float64(k.n))
			misses[i] = k.t - r.place(float64(k.n))
			if slip := math.Round(misses[i] / step); slip != 0 && round > 0 && math.Abs(slip) < 20 {
				r.anchors[i].n += int(slip)
				misses[i] = k.t - r.place(float64(r.anchors[i].n))
			}
			size = append(size, math.Abs(misses[i]))
		}
		limit := math.Max(0.3, 4*1.4826*median(size))
		sum, n := 0.0, 0
		for i, e := range misses {
			if r.used[i] = math.Abs(e) <= limit; r.used[i] {
				sum += e * e
				n++
			}
		}
		if n < minAnchors {
			return false
		}
		r.missPx = math.Sqrt(sum / float64(n))
	}
	return true
}

// solve fits the polynomial by least squares to the anchors in use.
func (r *ruleFit) solve() bool {
	lo, hi := r.anchors[0].n, r.anchors[0].n
	rows := 0
	for i, k := range r.anchors {
		lo, hi = min(lo, k.n), max(hi, k.n)
		if r.used[i] {
			rows++
		}
	}
	if hi-lo < minTicks/2 {
		return false
	}
	r.middle, r.half = float64(lo+hi)/2, float64(hi-lo)/2
	order := min(placeOrder, rows/3)
	a, b := mat.NewDense(rows, order+1, nil), mat.NewDense(rows, 1, nil)
	row := 0
	for i, k := range r.anchors {
		if !r.used[i] {
			continue
		}
		u, power := (float64(k.n)-r.middle)/r.half, 1.0
		for c := range order + 1 {
			a.Set(row, c, power)
			power *= u
		}
		b.Set(row, 0, k.t)
		row++
	}
	var x mat.Dense
	if err := x.Solve(a, b); err != nil {
		return false
	}
	r.poly = x.RawMatrix().Data
	return true
}

// place is where along the strip a number lies, px.
func (r *ruleFit) place(n float64) float64 {
	u, at := (n-r.middle)/r.half, 0.0
	for k := len(r.poly) - 1; k >= 0; k-- {
		at = at*u + r.poly[k]
	}
	return at
}
