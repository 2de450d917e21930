package calib

import (
	"math"

	"gristmark/internal/result"
)

// The parameters of a view of a plane.
const (
	pRotX   = iota // rotation vector of plane to camera
	pRotY          //
	pRotZ          //
	pMoveX         // translation, mm
	pMoveY         //
	pMoveZ         //
	pFocal         // log of the focal length in px
	pCX            // principal point, px
	pCY            //
	pK1            // radial distortion, relative displacement at half the photo's diagonal
	pK2            // the same, growing with the fourth power of the radius
	pSpread        // px by which dark print spreads over light paper: ink, blur under a tone curve
	nParams
)

// view is a pinhole camera with radial distortion over a plane.
type view struct {
	p     [nParams]float64
	radii float64 // half the photo's diagonal, px

	// Derived from p by set.
	h [9]float64 // mm to px without distortion, row by row
	g [9]float64 // its inverse
	f float64
}

// set recomputes what follows from the parameters.
func (v *view) set() {
	r := rodrigues(v.p[pRotX], v.p[pRotY], v.p[pRotZ])
	v.f = math.Exp(v.p[pFocal])
	t := [3]float64{v.p[pMoveX], v.p[pMoveY], v.p[pMoveZ]}
	for j := range 3 {
		c := t
		if j < 2 {
			c = [3]float64{r[j], r[3+j], r[6+j]}
		}
		v.h[j] = v.f*c[0] + v.p[pCX]*c[2]
		v.h[3+j] = v.f*c[1] + v.p[pCY]*c[2]
		v.h[6+j] = c[2]
	}
	v.g = invert3(v.h)
}

// toPx projects a point of the plane, mm, to an ideal px (a profile's distortion is not in it).
func (v *view) toPx(mm result.XY) result.XY {
	u := apply3(v.h, mm)
	x, y := (u[0]-v.p[pCX])/v.radii, (u[1]-v.p[pCY])/v.radii
	r2 := x*x + y*y
	k := 1 + r2*(v.p[pK1]+r2*v.p[pK2])
	return result.XY{v.p[pCX] + (u[0]-v.p[pCX])*k, v.p[pCY] + (u[1]-v.p[pCY])*k}
}

// toMM is the inverse of toPx.
func (v *view) toMM(px result.XY) result.XY {
	return apply3(v.g, v.undistort(px))
}

// undistort takes out k1 and k2, by Newton's method on the radius.
func (v *view) undistort(px result.XY) result.XY {
	x, y := (px[0]-v.p[pCX])/v.radii, (px[1]-v.p[pCY])/v.radii
	rd := math.Hypot(x, y)
	if rd == 0 || (v.p[pK1] == 0 && v.p[pK2] == 0) {
		return px
	}
	r := rd
	for range 8 {
		r2 := r * r
		e := r*(1+r2*(v.p[pK1]+r2*v.p[pK2])) - rd
		d := 1 + r2*(3*v.p[pK1]+5*r2*v.p[pK2])
		if d < 0.2 { // beyond where the model turns back: leave it nearly undistorted there
			d = 0.2
		}
		r -= e / d
		if math.Abs(e) < 1e-12 {
			break
		}
	}
	k := r / rd
	return result.XY{v.p[pCX] + x*k*v.radii, v.p[pCY] + y*k*v.radii}
}

// mmPerPx is the root of the area scale at an ideal px.
func (v *view) mmPerPx(px result.XY) float64 {
	const e = 0.5
	a, b := v.toMM(result.XY{px[0] - e, px[1]}), v.toMM(result.XY{px[0] + e, px[1]})
	c, d := v.toMM(result.XY{px[0], px[1] - e}), v.toMM(result.XY{px[0], px[1] + e})
	return math.Sqrt(math.Abs((b[0]-a[0])*(d[1]-c[1]) - (b[1]-a[1])*(d[0]-c[0])))
}

// tiltDeg is the angle between the optical axis and the plane's normal, degrees.
func (v *view) tiltDeg() float64 {
	r := rodrigues(v.p[pRotX], v.p[pRotY], v.p[pRotZ])
	return math.Acos(max(-1, min(1, r[8]))) * 180 / math.Pi
}

// foot is the point of the plane under the camera and the camera's height over it, mm.
func (v *view) foot() (result.XY, float64) {
	r := rodrigues(v.p[pRotX], v.p[pRotY], v.p[pRotZ])
	var c [3]float64 // -Rᵀ t
	for j := range c {
		c[j] = -(r[j]*v.p[pMoveX] + r[3+j]*v.p[pMoveY] + r[6+j]*v.p[pMoveZ])
	}
	return result.XY{c[0], c[1]}, math.Abs(c[2])
}

// rodrigues turns a rotation vector into a matrix, row by row.
func rodrigues(x, y, z float64) [9]float64 {
	a := math.Sqrt(x*x + y*y + z*z)
	if a < 1e-12 {
		return [9]float64{1, -z, y, z, 1, -x, -y, x, 1}
	}
	x, y, z = x/a, y/a, z/a
	s, c := math.Sincos(a)
	d := 1 - c
	return [9]float64{
		c + x*x*d, x*y*d - z*s, x*z*d + y*s,
		x*y*d + z*s, c + y*y*d, y*z*d - x*s,
		x*z*d - y*s, y*z*d + x*s, c + z*z*d,
	}
}

// rotationVector is the inverse of rodrigues.
func rotationVector(r [9]float64) [3]float64 {
	v := [3]float64{r[7] - r[5], r[2] - r[6], r[3] - r[1]}
	s := math.Sqrt(v[0]*v[0]+v[1]*v[1]+v[2]*v[2]) / 2
	c := (r[0] + r[4] + r[8] - 1) / 2
	angle := math.Atan2(s, c)
	if s > 1e-6 {
		k := angle / (2 * s)
		return [3]float64{v[0] * k, v[1] * k, v[2] * k}
	}
	if c > 0 {
		return [3]float64{v[0] / 2, v[1] / 2, v[2] / 2}
	}
	// Half a turn: the axis is the column of R + I with the largest diagonal.
	k := 0
	for i := 1; i < 3; i++ {
		if r[4*i] > r[4*k] {
			k = i
		}
	}
	axis := [3]float64{r[k], r[3+k], r[6+k]}
	axis[k]++
	n := math.Sqrt(axis[0]*axis[0] + axis[1]*axis[1] + axis[2]*axis[2])
	return [3]float64{axis[0] / n * angle, axis[1] / n * angle, axis[2] / n * angle}
}

// apply3 maps a point by a homography.
func apply3(h [9]float64, p result.XY) result.XY {
	w := h[6]*p[0] + h[7]*p[1] + h[8]
	return result.XY{(h[0]*p[0] + h[1]*p[1] + h[2]) / w, (h[3]*p[0] + h[4]*p[1] + h[5]) / w}
}

// invert3 inverts a 3 x 3 matrix up to its determinant's sign; a singular one gives non-finite numbers.
func invert3(m [9]float64) [9]float64 {
	a := [9]float64{
		m[4]*m[8] - m[5]*m[7], m[2]*m[7] - m[1]*m[8], m[1]*m[5] - m[2]*m[4],
		m[5]*m[6] - m[3]*m[8], m[0]*m[8] - m[2]*m[6], m[2]*m[3] - m[0]*m[5],
		m[3]*m[7] - m[4]*m[6], m[1]*m[6] - m[0]*m[7], m[0]*m[4] - m[1]*m[3],
	}
	det := m[0]*a[0] + m[1]*a[3] + m[2]*a[6]
	for i := range a {
		a[i] /= det
	}
	return a
}
