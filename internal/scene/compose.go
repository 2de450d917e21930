package scene

import "math"

// plate is the light that reaches the sensor, linear, three values a pixel, and what is seen where.
type plate struct {
	w, h  int
	light []float32
	label []uint16 // index of the piece + 1, topmost with half coverage or more
}

const bandRows = 48

// compose renders tray and pieces, bottom to top.
func compose(cam *camera, b *ground, l *lighting, pieces []*piece, views []*silhouette) *plate {
	pl := &plate{w: cam.w, h: cam.h, light: make([]float32, 3*cam.w*cam.h), label: make([]uint16, cam.w*cam.h)}
	parallel((cam.h+bandRows-1)/bandRows, func(n int) {
		y0, y1 := n*bandRows, min(cam.h, (n+1)*bandRows)
		for y := y0; y < y1; y++ {
			for x := 0; x < cam.w; x++ {
				pl.set(x, y, groundLight(cam, b, l, float64(x)+0.5, float64(y)+0.5), 1)
			}
		}
		for i, p := range pieces {
			if v := views[i]; v != nil {
				pl.paint(cam, l, p, v, uint16(i+1), y0, y1)
			}
		}
	})
	return pl
}

func (pl *plate) set(x, y int, c rgb, k float64) {
	o := 3 * (y*pl.w + x)
	for n := range c {
		v := float64(pl.light[o+n])
		pl.light[o+n] = float32(v + (c[n]-v)*k)
	}
}

func groundLight(cam *camera, b *ground, l *lighting, px, py float64) rgb {
	at := cam.ground(px, py)
	c, bump, gloss, shine := b.look(at)
	if b.nearSheet(at, 1) { // printed edges are sharper than a pixel
		c = rgb{}
		for _, d := range [4]XY{{-0.25, -0.25}, {0.25, -0.25}, {-0.25, 0.25}, {0.25, 0.25}} {
			s, _, _, _ := b.look(cam.ground(px+d[0], py+d[1]))
			c = c.plus(s.times(0.25))
		}
	}
	n := norm3([3]float64{bump[0], bump[1], 1})
	return l.shade([3]float64{at[0], at[1], 0}, n, cam.eye(at, 0), c, gloss, shine)
}

// eye is the unit vector from a point to the camera.
func (cam *camera) eye(p XY, z float64) [3]float64 {
	return norm3([3]float64{cam.c[0] - p[0], cam.c[1] - p[1], cam.c[2] - z})
}

func norm3(v [3]float64) [3]float64 {
	k := 1 / math.Sqrt(dot3(v, v))
	return [3]float64{v[0] * k, v[1] * k, v[2] * k}
}

func (pl *plate) paint(cam *camera, l *lighting, p *piece, v *silhouette, id uint16, y0, y1 int) {
	for y := max(y0, v.y0); y < min(y1, v.y0+v.h); y++ {
		for x := v.x0; x < v.x0+v.w; x++ {
			c := v.cover[(y-v.y0)*v.w+x-v.x0]
			if c == 0 {
				continue
			}
			pl.set(x, y, pieceLight(cam, l, p, float64(x)+0.5, float64(y)+0.5), float64(c)/255)
			if c >= 128 {
				pl.label[y*pl.w+x] = id
			}
		}
	}
}

func pieceLight(cam *camera, l *lighting, p *piece, px, py float64) rgb {
	q, lean := p.ray(cam, px, py)
	z, hit := p.solid.cast(q, lean)
	if !hit {
		z = p.solid.nearest(q, lean)
	}
	u, v := q[0]+z*lean[0], q[1]+z*lean[1]
	n := p.solid.normal(u, v)
	n[0], n[1] = n[0]*p.cos-n[1]*p.sin, n[0]*p.sin+n[1]*p.cos
	at := p.world(XY{u, v})
	return l.shade([3]float64{at[0], at[1], p.base + z}, n, cam.eye(at, p.base+z), p.solid.colourAt(u, v), p.solid.gloss, p.solid.shine)
}

// nearest is the height at which the ray passes closest to the solid.
func (s *solid) nearest(q, lean XY) float64 {
	best, at := math.Inf(-1), 0.0
	for k := 0; k <= 12; k++ {
		z := s.top * float64(k) / 12
		if sd, _, _ := s.at(q[0]+z*lean[0], q[1]+z*lean[1]); sd > best {
			best, at = sd, z
		}
	}
	return at
}

// normal of the upper surface, local frame; held from lying flatter than 75°.
func (s *solid) normal(u, v float64) [3]float64 {
	e := 1.0 * s.step
	h := func(u, v float64) float64 {
		sd, half, mid := s.at(u, v)
		return mid + half*s.swell(sd)
	}
	gx, gy := (h(u+e, v)-h(u-e, v))/(2*e), (h(u, v+e)-h(u, v-e))/(2*e)
	if k := math.Hypot(gx, gy); k > 3 {
		gx, gy = gx*3/k, gy*3/k
	}
	return norm3([3]float64{-gx, -gy, 1})
}
