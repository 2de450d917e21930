package scene

import (
	"image"
	"math"
	"math/rand/v2"

	"gristmark/calib/card"
)

// ground is what shows where no piece lies: tray, rim, outside, printed sheet.
type ground struct {
	kind, outside string
	base, floor   rgb
	half          XY // inner half size of the tray, mm
	centre        XY
	cos, sin      float64
	rim           float64
	corner        float64
	texture       float64
	gloss, shine  float64
	seed          uint32
	scuff, fines  float64

	sheet      card.Sheet
	print      *image.NRGBA
	dpmm       float64 // raster px per printed mm
	origin     XY      // of the sheet's top left corner
	sc, ss     float64 // turn of the sheet
	paper      float64
	printScale float64 // printed size over nominal
}

var trayColours = map[string]rgb{
	"navy": srgb8(28, 42, 84), "black": srgb8(30, 30, 32), "white": srgb8(228, 228, 224), "grey": srgb8(128, 130, 132), "green": srgb8(34, 100, 62),
	"blue": srgb8(36, 92, 168), "red": srgb8(168, 40, 38), "yellow": srgb8(214, 172, 48), "wood": srgb8(168, 136, 96), "metal": srgb8(168, 172, 176),
	"paper": srgb8(236, 234, 226), "cloth": srgb8(120, 126, 140), "cardboard": srgb8(178, 142, 100),
}

var outsideColours = map[string]rgb{"concrete": srgb8(150, 146, 138), "gravel": srgb8(138, 130, 118), "grass": srgb8(82, 108, 44), "table": srgb8(150, 118, 84)}

func newGround(s Settings, g *rand.Rand) *ground {
	b := &ground{kind: oneOf(g, s.Tray.Kinds), outside: oneOf(g, s.Tray.Outside), seed: g.Uint32(), paper: 0.86}
	b.base, b.floor = jitter(trayColours[b.kind], 0.25, 0.08, g), jitter(outsideColours[b.outside], 0.25, 0.06, g)
	if c, ok := otherBase(b.kind, g); ok {
		b.base = c
	}
	b.half = XY{s.Tray.WidthMM.draw(g) / 2, s.Tray.HeightMM.draw(g) / 2}
	turn := s.Tray.TurnDeg.draw(g) * math.Pi / 180
	b.cos, b.sin = math.Cos(turn), math.Sin(turn)
	b.rim, b.corner = 5+9*g.Float64(), 6+24*g.Float64()
	b.texture, b.gloss = s.Tray.Texture.draw(g), s.Tray.Gloss.draw(g)
	b.shine, b.scuff = 20+80*g.Float64(), g.Float64()
	b.fines = s.Tray.Fines.draw(g)
	if b.kind == "paper" || b.kind == "cloth" || b.kind == "cardboard" {
		b.rim, b.corner, b.gloss = 0.6, 1, 0
	}
	if b.kind == "wood" || b.kind == "timber" || b.kind == "speckled" || b.kind == "sacking" {
		b.rim, b.corner, b.gloss = 0, 1, 0.2*b.gloss
	}
	if b.kind == "metal" {
		b.gloss += 0.05
	}
	return b
}

// inner is the tray's inside outline in the plane, grown by d.
func (b *ground) inner(d float64) []XY {
	h := XY{b.half[0] + d, b.half[1] + d}
	c := math.Max(0.5, math.Min(b.corner+d, math.Min(h[0], h[1])*0.9))
	var out []XY
	for q := 0; q < 4; q++ {
		a0 := float64(q) * math.Pi / 2
		for i := 0; i <= 8; i++ {
			u := unit(a0 + float64(i)/8*math.Pi/2)
			sx, sy := 1.0, 1.0
			if q == 1 || q == 2 {
				sx = -1
			}
			if q >= 2 {
				sy = -1
			}
			p := XY{sx*(h[0]-c) + c*u[0], sy*(h[1]-c) + c*u[1]}
			out = append(out, add(b.centre, rotate(p, b.cos, b.sin)))
		}
	}
	return out
}

// beyond is the distance outside the tray's inner outline, negative inside.
func (b *ground) beyond(p XY) float64 {
	q := rotate(sub(p, b.centre), b.cos, -b.sin)
	x, y := math.Abs(q[0])-b.half[0]+b.corner, math.Abs(q[1])-b.half[1]+b.corner
	return math.Hypot(math.Max(x, 0), math.Max(y, 0)) + math.Min(math.Max(x, y), 0) - b.corner
}

// layCardFrame sets where a sheet lies, without drawing it.
func (b *ground) layCardFrame(s card.Sheet, centre XY, turn, print float64) {
	b.sheet = s
	b.sc, b.ss = math.Cos(turn), math.Sin(turn)
	b.origin = sub(centre, rotate(XY{s.WidthMM * print / 2, s.HeightMM * print / 2}, b.sc, b.ss))
}

func (b *ground) sheetOutline(print float64) []XY {
	var out []XY
	for _, q := range b.sheet.Outline() {
		out = append(out, b.onSheet(q, print))
	}
	return out
}

// layCard puts a printed sheet on the plane: its centre, turn (radians) and printed size over nominal.
func (b *ground) layCard(s card.Sheet, centre XY, turn, print float64, pxPerMM float64) {
	dpi := clamp(1.5*pxPerMM*25.4, 150, 420)
	b.layCardFrame(s, centre, turn, print)
	b.print, b.printScale = s.Raster(dpi), print
	b.dpmm = dpi / 25.4 / print
}

// onSheet turns a nominal position on the sheet (mm) into the plane.
func (b *ground) onSheet(q XY, print float64) XY {
	return add(b.origin, rotate(scale(q, print), b.sc, b.ss))
}

// printed is the reflectance of the sheet at a point of the plane, and whether it lies there.
func (b *ground) printed(p XY) (rgb, bool) {
	if b.print == nil {
		return rgb{}, false
	}
	q := scale(rotate(sub(p, b.origin), b.sc, -b.ss), b.dpmm)
	r := b.print.Rect
	if q[0] < 0 || q[1] < 0 || q[0] >= float64(r.Dx()) || q[1] >= float64(r.Dy()) {
		return rgb{}, false
	}
	x, y := q[0]-0.5, q[1]-0.5
	i, j := int(math.Floor(x)), int(math.Floor(y))
	u, v := x-float64(i), y-float64(j)
	var c rgb
	for n, w := range [4]float64{(1 - u) * (1 - v), u * (1 - v), (1 - u) * v, u * v} {
		o := b.print.PixOffset(min(max(i+n%2, 0), r.Dx()-1), min(max(j+n/2, 0), r.Dy()-1))
		for k := range c {
			c[k] += w * linear8[b.print.Pix[o+k]]
		}
	}
	for k := range c {
		c[k] = 0.035 + (b.paper-0.035)*c[k]
	}
	return c, true
}

// nearSheet reports whether a point lies on the printed sheet or within margin (mm) of it.
func (b *ground) nearSheet(p XY, margin float64) bool {
	if b.print == nil {
		return false
	}
	q := rotate(sub(p, b.origin), b.sc, -b.ss)
	w, h := b.sheet.WidthMM*b.printScale, b.sheet.HeightMM*b.printScale
	return q[0] > -margin && q[1] > -margin && q[0] < w+margin && q[1] < h+margin
}

var linear8 = func() (t [256]float64) {
	for i := range t {
		t[i] = fromSRGB(float64(i) / 255)
	}
	return t
}()

// look gives reflectance, bump of the normal, gloss at a point of the plane.
func (b *ground) look(p XY) (c rgb, bump XY, gloss, shine float64) {
	if c, ok := b.printed(p); ok {
		k := 1 + 0.012*fbm(p[0]*0.03, p[1]*0.03, b.seed+40, 2)
		return c.times(k), XY{}, 0.01, 10
	}
	d := b.beyond(p)
	switch {
	case d < 0:
		return b.tray(p, d)
	case d < b.rim:
		return b.wall(p, d)
	}
	c, bump = b.around(p)
	dark := 1 - 0.55*smooth(14, 0, d-b.rim)
	return c.times(dark), bump, 0.01, 10
}

// wall is the tray's rim: it rises from the floor, so its inside leans.
func (b *ground) wall(p XY, d float64) (rgb, XY, float64, float64) {
	c, bump, gloss, shine := b.tray(p, d)
	q := rotate(sub(p, b.centre), b.cos, -b.sin)
	t := d / b.rim
	lean := XY{}
	if math.Abs(q[0])-b.half[0] > math.Abs(q[1])-b.half[1] {
		lean[0] = math.Copysign(1, q[0])
	} else {
		lean[1] = math.Copysign(1, q[1])
	}
	k := -1.1
	if t > 0.55 {
		k = 0
	}
	if t > 0.9 {
		k = 1
	}
	return c.times(0.95), add(bump, scale(rotate(lean, b.cos, b.sin), k)), gloss + 0.02, shine
}

func (b *ground) tray(p XY, d float64) (rgb, XY, float64, float64) {
	q := rotate(p, b.cos, -b.sin)
	switch b.kind {
	case "wood":
		c, bump := b.plank(b.base, q)
		return c, bump, b.gloss, 12
	case "metal":
		return b.zinc(q)
	case "paper", "cloth", "cardboard":
		c, bump := b.sheetOf(q)
		return c, bump, 0.005, 10
	case "timber", "speckled", "ribbed", "sacking":
		c, bump := b.other(q)
		return c, bump, b.gloss, 14
	}
	fine := fbm(q[0]*2.3, q[1]*2.3, b.seed, 2)
	broad := fbm(q[0]*0.02, q[1]*0.02, b.seed+1, 3)
	k := 1 + b.texture*(0.05*fine+0.06*broad)
	c := b.base.times(k).mix(rgb{0.5, 0.5, 0.48}, 0.22*b.scuff*b.texture*b.scratch(q))
	dust := smooth(0.15, 0.7, fbm(q[0]*0.05, q[1]*0.05, b.seed+3, 4))
	c = c.mix(rgb{0.42, 0.38, 0.30}, 0.06*b.scuff*dust)
	if b.fines > 0 {
		sp, k := b.speck(q)
		c = c.mix(sp, k)
	}
	e := b.texture * 0.05
	return c, XY{e * fine, e * fbm(q[0]*2.3+50, q[1]*2.3, b.seed+5, 2)}, b.gloss, b.shine
}

// scratch is 1 on a hairline scratch: each 34 mm square of the tray has up to two.
func (b *ground) scratch(q XY) float64 {
	const cell = 34.0
	ix, iy := int32(math.Floor(q[0]/cell)), int32(math.Floor(q[1]/cell))
	best := 0.0
	for n := uint32(0); n < 2; n++ {
		h := func(k uint32) float64 { return hashUnit(ix, iy, b.seed+60+7*n+k) }
		if h(0) > 0.45 {
			continue
		}
		c := XY{(float64(ix) + 0.3 + 0.4*h(1)) * cell, (float64(iy) + 0.3 + 0.4*h(2)) * cell}
		u := scale(unit(h(3)*math.Pi), cell*0.28*h(4))
		d := segmentDistance(q, sub(c, u), add(c, u))
		best = math.Max(best, (0.3+0.7*h(5))*smooth(0.22, 0.05, d))
	}
	return best
}

// plank is a wooden board: planks, grain, knots.
func (b *ground) plank(base rgb, q XY) (rgb, XY) {
	const wide = 96.0
	n := math.Floor(q[1] / wide)
	seed := b.seed + uint32(int32(n))*977
	y := q[1] - n*wide
	warp := 5 * fbm(q[0]*0.008, q[1]*0.03, seed, 3)
	rings := math.Sin(2 * math.Pi * ((y+2.2*warp)/9 + 2.6*fbm(q[0]*0.004, y*0.03, seed+1, 3)))
	fibre := fbm(q[0]*0.12, q[1]*2.4, seed+2, 4)
	c := base.times(1 + 0.16*(hashUnit(int32(n), 3, b.seed)-0.5) + b.texture*(0.08*rings+0.16*fibre))
	kx, ky := 180*hashUnit(int32(n), 1, b.seed)-90, wide*(0.3+0.4*hashUnit(int32(n), 2, b.seed))
	r := math.Hypot((q[0]-kx)*0.7, y-ky)
	knot := smooth(9, 5, r+fbm(q[0]*0.2, q[1]*0.2, seed+3, 2)*2)
	c = c.mix(srgb8(92, 58, 32).times(1+0.2*math.Sin(r*2)), 0.8*knot)
	edge := math.Min(y, wide-y)
	return c.times(1 - 0.8*smooth(1.0, 0.3, edge)), XY{0, 0.10 * fibre}
}

// zinc is galvanised sheet: spangles of differing sheen.
func (b *ground) zinc(q XY) (rgb, XY, float64, float64) {
	id, _ := cellular(q[0]/9, q[1]/9, b.seed)
	tone := float64(id&255)/255 - 0.5
	lean := unit(float64(id>>8&1023) / 1023 * 2 * math.Pi)
	streak := fbm(q[0]*0.2, q[1]*2.5, b.seed+4, 3)
	rust := smooth(0.45, 0.7, fbm(q[0]*0.03, q[1]*0.03, b.seed+6, 4))
	c := b.base.times(0.62 * (1 + b.texture*(0.28*tone+0.06*streak)))
	c = c.mix(srgb8(128, 92, 64), 0.4*rust*b.scuff)
	return c, scale(lean, 0.06*b.texture), b.gloss + 0.05, 18
}

// cellular gives the id of the nearest of jittered cell points and the distance to the border of its cell.
func cellular(x, y float64, seed uint32) (id uint32, border float64) {
	ix, iy := int32(math.Floor(x)), int32(math.Floor(y))
	best, second := math.Inf(1), math.Inf(1)
	for j := iy - 1; j <= iy+1; j++ {
		for i := ix - 1; i <= ix+1; i++ {
			h := hash32(i, j, seed)
			dx := float64(i) + float64(h&0xffff)/65536 - x
			dy := float64(j) + float64(h>>16)/65536 - y
			switch d := dx*dx + dy*dy; {
			case d < best:
				second, best, id = best, d, h*0x9E3779B1
			case d < second:
				second = d
			}
		}
	}
	return id, math.Sqrt(second) - math.Sqrt(best)
}

// around is the floor outside the tray.
func (b *ground) around(p XY) (rgb, XY) {
	switch b.outside {
	case "gravel":
		id, border := cellular(p[0]/11, p[1]/11, b.seed+7)
		tone := float64(id&255)/255 - 0.5
		c := b.floor.times(1+0.7*tone).mix(rgb{0.25, 0.2, 0.16}, 0.2*float64(id>>8&255)/255)
		return c.times(mix(0.35, 1, smooth(0, 0.25, border)) * (1 + 0.15*fbm(p[0], p[1], b.seed+8, 2))), XY{0.3 * tone, 0.2 * tone}
	case "grass":
		return b.grass(p), XY{}
	case "table":
		return b.plank(b.floor, XY{p[1], p[0]})
	}
	k := 1 + 0.12*fbm(p[0]*0.03, p[1]*0.03, b.seed+12, 4) + 0.14*fbm(p[0]*1.1, p[1]*1.1, b.seed+13, 3)
	pit := smooth(0.55, 0.75, noise(p[0]*0.35, p[1]*0.35, b.seed+14))
	return b.floor.times(k * (1 - 0.35*pit)), XY{}
}

// grass is three layers of blades that lie each its own way.
func (b *ground) grass(p XY) rgb {
	c := b.floor.times(0.35)
	for i := uint32(0); i < 3; i++ {
		w := 5 * fbm(p[0]*0.03, p[1]*0.03, b.seed+90+i, 2)
		turn := float64(i)*1.1 + 6*hashUnit(int32(i), 8, b.seed)
		q := rotate(add(p, XY{w, -w}), math.Cos(turn), math.Sin(turn))
		v := noise(q[0]*0.06, q[1]*0.75, b.seed+93+i)
		tone := 0.5 + 0.5*noise(q[0]*0.01, q[1]*0.3, b.seed+96+i)
		blade := b.floor.mix(srgb8(146, 148, 84), tone).times(0.6 + 0.25*float64(i))
		c = c.mix(blade, smooth(0.0, 0.35, v))
	}
	return c
}

// speck is the colour and cover of fines: specks too small to count, up to three in each square of 4 mm.
func (b *ground) speck(q XY) (rgb, float64) {
	const cell = 4.0
	ix, iy := int32(math.Floor(q[0]/cell)), int32(math.Floor(q[1]/cell))
	for n := uint32(0); n < 3; n++ {
		h := func(k uint32) float64 { return hashUnit(ix, iy, b.seed+200+11*n+k) }
		if h(0) > b.fines {
			continue
		}
		r := 0.08 + 0.3*h(1)*h(2)
		at := XY{(float64(ix) + 0.12 + 0.76*h(3)) * cell, (float64(iy) + 0.12 + 0.76*h(4)) * cell}
		d := rotate(sub(q, at), math.Cos(6*h(5)), math.Sin(6*h(5)))
		slim := max(0.4+0.6*h(6), r/0.43) // none longer than 0.86 mm
		if e := math.Hypot(d[0]*slim, d[1]); e < r {
			c := srgb8(214, 190, 132).mix(srgb8(112, 120, 62), h(7)).mix(srgb8(238, 226, 190), 0.6*h(8))
			return c, smooth(r, 0.6*r, e)
		}
	}
	return rgb{}, 0
}

// sheetOf is paper with creases, woven cloth or cardboard.
func (b *ground) sheetOf(q XY) (rgb, XY) {
	broad := fbm(q[0]*0.015, q[1]*0.015, b.seed+120, 3)
	switch b.kind {
	case "cloth":
		weave := math.Sin(q[0]*5.2) * math.Sin(q[1]*5.2)
		slub := fbm(q[0]*0.3, q[1]*3, b.seed+121, 2) + fbm(q[0]*3, q[1]*0.3, b.seed+122, 2)
		fold := fbm(q[0]*0.012+9, q[1]*0.02, b.seed+123, 2)
		return b.base.times(1 + b.texture*(0.10*weave+0.12*slub+0.10*broad)), XY{0.12 * fold, 0.1 * broad}
	case "cardboard":
		flute := math.Sin(2 * math.Pi * q[1] / 6.5)
		return b.base.times(1 + b.texture*(0.02*flute+0.05*fbm(q[0]*0.4, q[1]*1.6, b.seed+124, 3)+0.06*broad)), XY{0, 0.02 * flute}
	}
	crease := XY{}
	for n := uint32(0); n < 2; n++ {
		u := unit(math.Pi * hashUnit(int32(n), 5, b.seed+125))
		d := dot(q, u) - 120*(hashUnit(int32(n), 6, b.seed+125)-0.5)
		crease = add(crease, scale(u, 0.25*math.Copysign(smooth(5, 0, math.Abs(d)), d)))
	}
	return b.base.times(1 + 0.015*broad + 0.01*fbm(q[0]*2, q[1]*2, b.seed+126, 2)), add(crease, scale(XY{broad, -broad}, 0.04))
}
