package scene

import (
	"math"
	"math/rand/v2"
)

// lamp is a light far away.
type lamp struct {
	to       [3]float64 // unit vector towards it
	colour   rgb
	softness float64
	shadow   []float32 // height below which a plane cell lies in its shadow
}

// lighting is the light over the scene.
type lighting struct {
	lamps    []lamp
	ambient  rgb
	gradient XY // relative change per mm
	flash    float64
	wet      float64
	relief   *relief
	person   broadShadow
}

// broadShadow is the shadow of the person or the phone: one side of a soft line.
type broadShadow struct {
	normal XY
	at     float64 // mm along the normal
	soft   float64 // mm
	depth  float64 // share of the lamps' light that it takes
}

func (b *broadShadow) lets(p XY) float64 {
	if b.depth == 0 {
		return 1
	}
	return 1 - b.depth*smooth(b.at-b.soft/2, b.at+b.soft/2, dot(p, b.normal))
}

// relief is the upper surface of everything over the plane, a fine raster.
type relief struct {
	lo     XY
	step   float64
	nx, ny int
	top    []float32
	soft   []float32 // blurred, for the dimness between pieces
}

func newLighting(s Settings, reach float64, g *rand.Rand) *lighting {
	l := &lighting{wet: s.Light.Wet.draw(g)}
	n := max(1, s.Light.Sources.count(g))
	amb := s.Light.Ambient.draw(g)
	way := g.Float64() * 2 * math.Pi
	for i := 0; i < n; i++ {
		e := s.Light.ElevationDeg.draw(g) * math.Pi / 180
		u := unit(way + float64(i)*(1.3+1.6*g.Float64()))
		k := (1 - amb) / (float64(n) * math.Sin(e))
		l.lamps = append(l.lamps, lamp{to: [3]float64{u[0] * math.Cos(e), u[1] * math.Cos(e), math.Sin(e)},
			colour: kelvin(s.Light.Kelvin.draw(g)).times(k), softness: s.Light.Softness.draw(g)})
	}
	l.ambient = kelvin(5500 + 0.5*(s.Light.Kelvin.draw(g)-5500)).times(amb)
	l.gradient = scale(unit(g.Float64()*2*math.Pi), s.Light.Gradient.draw(g)/reach)
	if chance(g, s.Light.BroadShadow) {
		l.person = broadShadow{unit(g.Float64() * 2 * math.Pi), normal(g, 0, 0.5, 2) * reach, 8 + 70*g.Float64(), 0.3 + 0.5*g.Float64()}
	}
	if chance(g, s.Light.Flash) {
		l.flash = 0.8 + 0.8*g.Float64()
	}
	return l
}

// newRelief rasters the tops of the pieces.
func newRelief(lo, hi XY, pieces []*piece) *relief {
	r := &relief{lo: lo, step: 0.35}
	r.nx, r.ny = int((hi[0]-lo[0])/r.step)+2, int((hi[1]-lo[1])/r.step)+2
	r.top = make([]float32, r.nx*r.ny)
	for _, p := range pieces {
		r.raise(p)
	}
	r.soft = boxBlur(boxBlur(r.top, r.nx, r.ny, 4), r.nx, r.ny, 4)
	return r
}

func (r *relief) raise(p *piece) {
	reach := p.reach()
	i0, i1 := max(0, int((p.pos[0]-reach-r.lo[0])/r.step)), min(r.nx-1, int((p.pos[0]+reach-r.lo[0])/r.step)+1)
	j0, j1 := max(0, int((p.pos[1]-reach-r.lo[1])/r.step)), min(r.ny-1, int((p.pos[1]+reach-r.lo[1])/r.step)+1)
	for j := j0; j <= j1; j++ {
		for i := i0; i <= i1; i++ {
			q := p.local(XY{r.lo[0] + float64(i)*r.step, r.lo[1] + float64(j)*r.step})
			if h := p.solid.height(q[0], q[1]); h > 0 {
				k := j*r.nx + i
				r.top[k] = max(r.top[k], float32(p.base+h))
			}
		}
	}
}

// boxBlur averages over (2n+1)² cells.
func boxBlur(a []float32, nx, ny, n int) []float32 {
	mid, out := make([]float32, len(a)), make([]float32, len(a))
	run := func(src, dst []float32, start, stride, count int) {
		sum := 0.0
		at := func(i int) float64 { return float64(src[start+stride*min(max(i, 0), count-1)]) }
		for i := -n; i <= n; i++ {
			sum += at(i)
		}
		for i := 0; i < count; i++ {
			dst[start+stride*i] = float32(sum / float64(2*n+1))
			sum += at(i+n+1) - at(i-n)
		}
	}
	for y := 0; y < ny; y++ {
		run(a, mid, y*nx, 1, nx)
	}
	for x := 0; x < nx; x++ {
		run(mid, out, x, nx, ny)
	}
	return out
}

// castShadows works out the shadow volume of each lamp: along the way to the lamp, the height that a thing there
// reaches less the climb of the light.
func (l *lighting) castShadows() {
	r := l.relief
	highest := float32(0)
	for _, h := range r.top {
		highest = max(highest, h)
	}
	for n := range l.lamps {
		la := &l.lamps[n]
		la.shadow = make([]float32, len(r.top))
		flat := math.Hypot(la.to[0], la.to[1])
		u := XY{la.to[0] / flat, la.to[1] / flat}
		climb := la.to[2] / flat * r.step
		steps := min(int(float64(highest)/climb)+1, 160)
		parallel(r.ny, func(j int) {
			for i := 0; i < r.nx; i++ {
				best := float32(0)
				for s := 1; s <= steps; s++ {
					x, y := float64(i)+u[0]*float64(s), float64(j)+u[1]*float64(s)
					if x < 0 || y < 0 || x >= float64(r.nx-1) || y >= float64(r.ny-1) {
						break
					}
					best = max(best, r.between(x, y)-float32(float64(s)*climb))
				}
				la.shadow[j*r.nx+i] = best
			}
		})
		la.shadow = boxBlur(la.shadow, r.nx, r.ny, 1)
	}
}

// between interpolates the tops at a place given in cells.
func (r *relief) between(x, y float64) float32 {
	i, j := int(x), int(y)
	k := j*r.nx + i
	a, b, c, d := r.top[k], r.top[k+1], r.top[k+r.nx], r.top[k+r.nx+1]
	if a == 0 && b == 0 && c == 0 && d == 0 {
		return 0
	}
	u, v := float32(x-float64(i)), float32(y-float64(j))
	a += (b - a) * u
	c += (d - c) * u
	return a + (c-a)*v
}

func (r *relief) sample(a []float32, p XY) float64 {
	x, y := (p[0]-r.lo[0])/r.step, (p[1]-r.lo[1])/r.step
	if x < 0 || y < 0 || x >= float64(r.nx-1) || y >= float64(r.ny-1) {
		return 0
	}
	i, j := int(x), int(y)
	u, v := x-float64(i), y-float64(j)
	k := j*r.nx + i
	return mix(mix(float64(a[k]), float64(a[k+1]), u), mix(float64(a[k+r.nx]), float64(a[k+r.nx+1]), u), v)
}

// shade lights a surface point: position, unit normal, unit vector to the camera, reflectance, gloss.
func (l *lighting) shade(at [3]float64, n, eye [3]float64, c rgb, gloss, shine float64) rgb {
	p := XY{at[0], at[1]}
	field := math.Max(0.25, 1+dot(p, l.gradient))
	dim := 1.0
	if l.relief != nil {
		dim = 1 - clamp(0.16*(l.relief.sample(l.relief.soft, p)-at[2]), 0, 0.5)
	}
	sky := 0.72 + 0.28*n[2]
	light := l.ambient.times(dim * sky)
	spec, broad := rgb{}, l.person.lets(p)
	for i := range l.lamps {
		la := &l.lamps[i]
		lit := l.litBy(la, p, at[2]) * broad
		facing := dot3(n, la.to)
		if facing > 0 {
			light = light.plus(la.colour.times(facing * lit))
		}
		if gloss > 0 {
			spec = spec.plus(la.colour.times(lit * highlight(n, la.to, eye, gloss, shine)))
		}
	}
	if l.flash > 0 { // beside the lens
		k := l.flash * math.Pow(eye[2], 4)
		light = light.plus(rgb{k, k, k}.times(math.Max(0, dot3(n, eye))))
		h := k * highlight(n, eye, eye, gloss, shine)
		spec = spec.plus(rgb{h, h, h})
	}
	return c.by(light).plus(spec).times(field)
}

func (l *lighting) litBy(la *lamp, p XY, z float64) float64 {
	if l.relief == nil || la.shadow == nil {
		return 1
	}
	over := l.relief.sample(la.shadow, p) - z - 0.12
	if over <= -0.2 {
		return 1
	}
	w := 0.15 + la.softness*math.Max(0, over)
	return 1 - smooth(-w/2, w/2, over)
}

func highlight(n, to, eye [3]float64, gloss, shine float64) float64 {
	h := [3]float64{to[0] + eye[0], to[1] + eye[1], to[2] + eye[2]}
	k := 1 / math.Sqrt(dot3(h, h))
	d := dot3(n, h) * k
	if (1-d)*shine > 12 { // below e^-12
		return 0
	}
	return gloss * (shine + 8) / 25 * math.Pow(d, shine)
}

func dot3(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
