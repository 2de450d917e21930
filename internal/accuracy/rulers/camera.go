package rulers

import (
	"math"

	"gristmark/internal/result"
)

// XY is a position.
type XY = result.XY

// camera is a pinhole with radial distortion above the tray.
type camera struct {
	w, h   int
	focal  float64 // px
	centre XY      // where the axis meets the photo, px
	radius float64 // half the photo's diagonal, px
	// A point that a pinhole shows at a radius of r half diagonals is shown at r (1 + bend[0] r² + bend[1] r⁴).
	bend [2]float64
	rot  [3][3]float64 // tray to camera; z away from the camera
	move [3]float64    // mm
	eye  [3]float64    // the camera's place: x, y on the tray and height over it, mm
}

// newCamera looks from height mm at the point aim of the tray, tilted towards an azimuth and rolled, radians.
func newCamera(w, h int, focal, height, tilt, azimuth, roll float64, aim XY) camera {
	c := camera{w: w, h: h, focal: focal, centre: XY{float64(w) / 2, float64(h) / 2}, radius: math.Hypot(float64(w), float64(h)) / 2}
	ca, sa := math.Cos(azimuth), math.Sin(azimuth)
	ct, st := math.Cos(tilt), math.Sin(tilt)
	// The optical axis: down, leaning towards the azimuth.
	axis := [3]float64{st * ca, st * sa, ct}
	down := [3]float64{ct * ca, ct * sa, -st}
	side := [3]float64{-sa, ca, 0}
	cr, sr := math.Cos(roll-azimuth), math.Sin(roll-azimuth)
	for k := range 3 {
		c.rot[0][k] = cr*down[k] - sr*side[k]
		c.rot[1][k] = sr*down[k] + cr*side[k]
		c.rot[2][k] = axis[k]
	}
	d := height / ct
	c.eye = [3]float64{aim[0] - d*axis[0], aim[1] - d*axis[1], height}
	for i := range 3 {
		c.move[i] = -(c.rot[i][0]*c.eye[0] + c.rot[i][1]*c.eye[1] - c.rot[i][2]*height)
	}
	return c
}

// project is where a point of the tray, or above it, is seen.
func (c *camera) project(mm XY, above float64) XY {
	var v [3]float64
	for i := range v {
		v[i] = c.rot[i][0]*mm[0] + c.rot[i][1]*mm[1] - c.rot[i][2]*above + c.move[i]
	}
	x, y := c.focal*v[0]/v[2]/c.radius, c.focal*v[1]/v[2]/c.radius
	r2 := x*x + y*y
	k := (1 + r2*(c.bend[0]+r2*c.bend[1])) * c.radius
	return XY{c.centre[0] + x*k, c.centre[1] + y*k}
}

// ground is the point of the tray that a px shows.
func (c *camera) ground(px XY) XY {
	x, y := (px[0]-c.centre[0])/c.radius, (px[1]-c.centre[1])/c.radius
	rd := math.Hypot(x, y)
	r := rd
	for range 6 {
		r2 := r * r
		r -= (r*(1+r2*(c.bend[0]+r2*c.bend[1])) - rd) / (1 + r2*(3*c.bend[0]+5*r2*c.bend[1]))
	}
	if rd > 0 {
		x, y = x*r/rd, y*r/rd
	}
	x, y = x*c.radius/c.focal, y*c.radius/c.focal
	var d [3]float64
	for k := range d {
		d[k] = c.rot[0][k]*x + c.rot[1][k]*y + c.rot[2][k]
	}
	t := c.eye[2] / d[2]
	return XY{c.eye[0] + t*d[0], c.eye[1] + t*d[1]}
}

// mmPerPx is the root of the area scale at the photo's middle, on the tray.
func (c *camera) mmPerPx() float64 {
	const e = 0.5
	m := XY{float64(c.w) / 2, float64(c.h) / 2}
	a, b := c.ground(XY{m[0] - e, m[1]}), c.ground(XY{m[0] + e, m[1]})
	d, f := c.ground(XY{m[0], m[1] - e}), c.ground(XY{m[0], m[1] + e})
	return math.Sqrt(math.Abs((b[0]-a[0])*(f[1]-d[1]) - (b[1]-a[1])*(f[0]-d[0])))
}
