package scene

import (
	"math"
	"math/rand/v2"
)

// camera is a pinhole with one radial term, above the tray plane.
type camera struct {
	w, h    int
	focal   float64    // px
	k1      float64    // radial term: r_d = r_u (1 + k1 r_u²), r in units of the focal length
	c       [3]float64 // position, mm, z up
	rot     [3][3]float64
	tiltDeg float64
	f35     float64
}

// newCamera draws a camera that looks at the point aim of the plane.
func newCamera(s Settings, g *rand.Rand) camera {
	cam := camera{w: s.WidthPx, h: s.HeightPx}
	cam.f35 = s.Camera.Focal35MM.draw(g)
	if chance(g, s.Camera.TeleShare) {
		cam.f35 *= 2
	}
	long := float64(max(cam.w, cam.h))
	cam.focal = cam.f35 / 36 * long
	rho := math.Hypot(float64(cam.w), float64(cam.h)) / 2 / cam.focal
	cam.k1 = s.Camera.BarrelPct.draw(g) / 100 / (rho * rho)
	height := s.Camera.HeightMM.draw(g)
	cam.tiltDeg = s.Camera.TiltDeg.draw(g)
	tilt, way := cam.tiltDeg*math.Pi/180, g.Float64()*2*math.Pi
	roll := s.Camera.RollDeg.draw(g) * math.Pi / 180
	aim := XY{g.Float64()*2 - 1, g.Float64()*2 - 1}
	aim = scale(aim, s.Camera.OffCentreMM.draw(g))
	cam.place(height, tilt, way, roll, aim)
	return cam
}

// place sets height (mm), tilt, its direction and the roll (radians), looking at the point aim (mm).
func (cam *camera) place(height, tilt, way, roll float64, aim XY) {
	u := unit(way)
	// Optical axis in the world: down, leaning towards u.
	axis := [3]float64{math.Sin(tilt) * u[0], math.Sin(tilt) * u[1], -math.Cos(tilt)}
	cam.c = [3]float64{aim[0] + axis[0]/axis[2]*height, aim[1] + axis[1]/axis[2]*height, height}
	// Image x starts as world x made square to the axis; image y completes the right-handed frame.
	x := [3]float64{1, 0, 0}
	d := x[0] * axis[0]
	for k := range x {
		x[k] -= d * axis[k]
	}
	n := math.Sqrt(x[0]*x[0] + x[1]*x[1] + x[2]*x[2])
	for k := range x {
		x[k] /= n
	}
	// The world is left-handed with y down and z up: y = x cross axis keeps y down.
	y := [3]float64{x[1]*axis[2] - x[2]*axis[1], x[2]*axis[0] - x[0]*axis[2], x[0]*axis[1] - x[1]*axis[0]}
	if y[1] < 0 {
		for k := range y {
			y[k] = -y[k]
		}
	}
	cs, sn := math.Cos(roll), math.Sin(roll)
	for k := range x {
		cam.rot[0][k] = cs*x[k] + sn*y[k]
		cam.rot[1][k] = -sn*x[k] + cs*y[k]
		cam.rot[2][k] = axis[k]
	}
}

// project gives the pixel of a point in the world, mm.
func (cam *camera) project(x, y, z float64) XY {
	d := [3]float64{x - cam.c[0], y - cam.c[1], z - cam.c[2]}
	var v [3]float64
	for i := range v {
		v[i] = cam.rot[i][0]*d[0] + cam.rot[i][1]*d[1] + cam.rot[i][2]*d[2]
	}
	a, b := v[0]/v[2], v[1]/v[2]
	k := 1 + cam.k1*(a*a+b*b)
	return XY{float64(cam.w)/2 + cam.focal*k*a, float64(cam.h)/2 + cam.focal*k*b}
}

// ground is where the ray through a pixel meets the plane, mm.
func (cam *camera) ground(px, py float64) XY {
	a, b := (px-float64(cam.w)/2)/cam.focal, (py-float64(cam.h)/2)/cam.focal
	if cam.k1 != 0 {
		rd2 := a*a + b*b
		k := 1.0
		for i := 0; i < 6; i++ {
			k = 1 + cam.k1*rd2/(k*k)
		}
		a, b = a/k, b/k
	}
	var d [3]float64
	for k := range d {
		d[k] = cam.rot[0][k]*a + cam.rot[1][k]*b + cam.rot[2][k]
	}
	if d[2] > -1e-3 {
		d[2] = -1e-3
	}
	t := -cam.c[2] / d[2]
	return XY{cam.c[0] + t*d[0], cam.c[1] + t*d[1]}
}

// lean is the shift of the ray over a ground point for each mm of height: towards the camera.
func (cam *camera) lean(p XY) XY {
	return XY{(cam.c[0] - p[0]) / cam.c[2], (cam.c[1] - p[1]) / cam.c[2]}
}

// mmPerPx at a pixel, the root of the area scale on the plane.
func (cam *camera) mmPerPx(px, py float64) float64 {
	const e = 0.5
	u := sub(cam.ground(px+e, py), cam.ground(px-e, py))
	v := sub(cam.ground(px, py+e), cam.ground(px, py-e))
	return math.Sqrt(math.Abs(cross(u, v)))
}

// homography from mm on the plane to px, without the radial term, row by row, last element 1.
func (cam *camera) homography() [9]float64 {
	cx, cy := float64(cam.w)/2, float64(cam.h)/2
	var m [3][3]float64
	for i := 0; i < 3; i++ {
		r := cam.rot[i]
		m[i] = [3]float64{r[0], r[1], -(r[0]*cam.c[0] + r[1]*cam.c[1] + r[2]*cam.c[2])}
	}
	var h [9]float64
	for j := 0; j < 3; j++ {
		h[j] = cam.focal*m[0][j] + cx*m[2][j]
		h[3+j] = cam.focal*m[1][j] + cy*m[2][j]
		h[6+j] = m[2][j]
	}
	for j := range h {
		h[j] /= m[2][2]
	}
	return h
}
