package calib

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"gristmark/internal/result"
)

// pair is a point of the plane, mm, and where it is seen, px.
type pair struct{ mm, px result.XY }

// homography fits mm to px through at least four pairs by least squares on normalised coordinates
// (the direct linear transform, Hartley 1997); ok is false for a degenerate set.
func homography(pairs []pair) (h [9]float64, ok bool) {
	if len(pairs) < 4 {
		return h, false
	}
	a := make([]result.XY, len(pairs))
	b := make([]result.XY, len(pairs))
	for i, p := range pairs {
		a[i], b[i] = p.mm, p.px
	}
	ca, sa := normaliser(a)
	cb, sb := normaliser(b)
	if sa == 0 || sb == 0 {
		return h, false
	}
	m := mat.NewDense(2*len(pairs), 9, nil)
	for i, p := range pairs {
		x, y := (p.mm[0]-ca[0])*sa, (p.mm[1]-ca[1])*sa
		u, v := (p.px[0]-cb[0])*sb, (p.px[1]-cb[1])*sb
		m.SetRow(2*i, []float64{x, y, 1, 0, 0, 0, -u * x, -u * y, -u})
		m.SetRow(2*i+1, []float64{0, 0, 0, x, y, 1, -v * x, -v * y, -v})
	}
	var mtm mat.SymDense
	mtm.SymOuterK(1, m.T())
	var e mat.EigenSym
	if !e.Factorize(&mtm, true) {
		return h, false
	}
	var vec mat.Dense
	e.VectorsTo(&vec)
	if values := e.Values(nil); values[1] < 1e-9*values[8] {
		return h, false // more than one solution: points in line
	}
	var n [9]float64
	for i := range n {
		n[i] = vec.At(i, 0)
	}
	// h = Tb^-1 n Ta
	for r := range 3 {
		x, y, w := n[3*r]*sa, n[3*r+1]*sa, n[3*r+2]
		n[3*r], n[3*r+1], n[3*r+2] = x, y, w-x*ca[0]-y*ca[1]
	}
	for c := range 3 {
		h[c] = n[c]/sb + cb[0]*n[6+c]
		h[3+c] = n[3+c]/sb + cb[1]*n[6+c]
		h[6+c] = n[6+c]
	}
	return h, true
}

func normaliser(p []result.XY) (centre result.XY, scale float64) {
	for _, q := range p {
		centre[0] += q[0] / float64(len(p))
		centre[1] += q[1] / float64(len(p))
	}
	mean := 0.0
	for _, q := range p {
		mean += math.Hypot(q[0]-centre[0], q[1]-centre[1]) / float64(len(p))
	}
	if mean == 0 {
		return centre, 0
	}
	return centre, math.Sqrt2 / mean
}

// pose finds a start for the fit from a homography and an assumed focal length and centre; ok is
// false where the homography shows the plane mirrored or from behind.
func pose(h [9]float64, focal float64, centre result.XY) (rot, move [3]float64, ok bool) {
	var c [3][3]float64 // columns of K^-1 H
	for j := range 3 {
		w := h[6+j]
		c[j] = [3]float64{(h[j] - centre[0]*w) / focal, (h[3+j] - centre[1]*w) / focal, w}
	}
	n := (norm3(c[0]) + norm3(c[1])) / 2
	if n == 0 || math.IsNaN(n) {
		return rot, move, false
	}
	if c[2][2] < 0 {
		n = -n
	}
	for j := range c {
		for i := range c[j] {
			c[j][i] /= n
		}
	}
	z := cross3(c[0], c[1])
	// The nearest rotation to the two columns and their product.
	m := mat.NewDense(3, 3, []float64{c[0][0], c[1][0], z[0], c[0][1], c[1][1], z[1], c[0][2], c[1][2], z[2]})
	var svd mat.SVD
	if !svd.Factorize(m, mat.SVDFull) {
		return rot, move, false
	}
	var u, v, r mat.Dense
	svd.UTo(&u)
	svd.VTo(&v)
	r.Mul(&u, v.T())
	if mat.Det(&r) < 0 {
		return rot, move, false
	}
	var q [9]float64
	for i := range q {
		q[i] = r.At(i/3, i%3)
	}
	if q[8] <= 0 {
		return rot, move, false // seen from behind: mirrored
	}
	return rotationVector(q), c[2], true
}

func norm3(a [3]float64) float64 { return math.Sqrt(a[0]*a[0] + a[1]*a[1] + a[2]*a[2]) }

func cross3(a, b [3]float64) [3]float64 {
	return [3]float64{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}
