package scene

import (
	"math"
	"math/rand/v2"
)

// gridStep of the solids, mm.
const gridStep = 0.12

// shape builds the solid of a piece: relief and colours. wet is 0..1.
func (p *piece) shape(lot *Lot, wet float64) {
	g := stream(p.seed, streamPieces)
	switch p.kind {
	case kindKernel:
		p.solid = p.kernelSolid(lot, g)
	case kindStraw:
		p.solid = p.flatSolid(0.45*p.thick, strawSkin(p, lot, g))
		p.solid.gloss, p.solid.shine = 0.05, 25
	case kindStalk:
		p.solid = p.flatSolid(math.Min(0.5, 0.3*p.thick), stalkSkin(p, lot, g))
		p.solid.gloss, p.solid.shine = 0.02, 20
	case kindLeaf:
		p.solid = p.flatSolid(0.4*p.thick, leafSkin(p, lot, g))
		p.solid.gloss, p.solid.shine = 0.06, 14
	case kindHusk:
		p.solid = p.flatSolid(0.4*p.thick, huskSkin(p, g))
		p.solid.gloss, p.solid.shine = 0.04, 14
	default:
		p.solid = p.flatSolid(math.Min(1.2, 0.35*p.thick), cobSkin(p, g))
		p.solid.gloss, p.solid.shine = 0.01, 10
	}
	if lot.Brown > 0 {
		p.solid.recolour(func(c rgb) rgb { return browned(c, lot.Brown) })
	}
	if wet > 0.05 {
		p.solid.gloss += wet * 0.5 * (0.5 + 0.5*g.Float64())
		p.solid.shine = 20 + 140*wet*(0.4+0.6*g.Float64())
		dark := 1 - 0.3*wet
		for i, v := range p.solid.colour {
			p.solid.colour[i] = float32(dark * math.Pow(math.Max(0, float64(v)), 1+0.18*wet))
		}
	}
}

func (p *piece) flatSolid(round float64, f skin) *solid {
	round = clamp(round, 0.1, 0.35*p.minFeret)
	return newSolid(p.outline, nil, gridStep, round, 0.01, f)
}

// jitter varies a colour: brightness by kb, red against blue by kc.
func jitter(c rgb, kb, kc float64, g *rand.Rand) rgb {
	b, r := math.Exp(normal(g, 0, kb, 2.2)), normal(g, 0, kc, 2.2)
	return rgb{c[0] * b * math.Exp(r), c[1] * b, c[2] * b * math.Exp(-1.5*r)}
}

// coat holds the colours of one kernel.
type coat struct{ skin, crown, tip, germ, starch, horn rgb }

func drawCoat(lot *Lot, g *rand.Rand) coat {
	kind := lot.Hybrid
	if kind == "mixed" {
		kind = oneOf(g, []string{"yellow", "orange", "red", "white"})
	}
	var c coat
	switch kind {
	case "other":
		c = otherCoat(lot)
	case "dark":
		c = coatOf(srgb8(98, 38, 62).mix(srgb8(46, 40, 56), g.Float64()))
	case "orange":
		c = coat{skin: srgb8(204, 118, 34), crown: srgb8(226, 168, 84), germ: srgb8(214, 164, 92)}
	case "red":
		c = coat{skin: srgb8(124, 44, 30), crown: srgb8(150, 72, 48), germ: srgb8(160, 96, 66)}
	case "white":
		c = coat{skin: srgb8(226, 214, 180), crown: srgb8(238, 232, 212), germ: srgb8(230, 220, 192)}
	default:
		c = coat{skin: srgb8(222, 162, 52), crown: srgb8(240, 208, 128), germ: srgb8(232, 198, 128)}
	}
	c.tip = srgb8(176, 140, 92).mix(c.skin, 0.3*g.Float64())
	c.starch = jitter(srgb8(244, 236, 212), 0.06, 0.02, g)
	c.horn = c.skin.mix(srgb8(236, 200, 120), 0.5)
	if chance(g, 0.06) {
		c.tip = srgb8(50, 36, 26) // black layer shows
	}
	b, r := normal(g, 0, 0.10, 2.2), normal(g, 0, 0.05, 2.2)
	for _, p := range []*rgb{&c.skin, &c.crown, &c.germ, &c.horn} {
		*p = rgb{p[0] * math.Exp(b+r), p[1] * math.Exp(b), p[2] * math.Exp(b-2*r)}
	}
	return c
}

func (p *piece) kernelSolid(lot *Lot, g *rand.Rand) *solid {
	k := p.grain
	c := drawCoat(lot, g)
	seed := g.Uint32()
	mould := lot.Mould * g.Float64() * 1.3
	chamfer := 0.25 + 0.9*g.Float64()
	dent := clamp(normal(g, 0.5, 0.35, 2), 0, 1)
	broken := k.share < 0.999
	f := func(u, v, sd, fd float64) (float64, float64, rgb) {
		h, col := k.surface(c, u, v, sd, dent, seed)
		if broken {
			h, col = k.breakage(c, h, col, u, v, sd, fd, chamfer, seed)
		}
		if mould > 0 {
			m := smooth(0.55-mould, 0.75-0.5*mould, 0.5+0.5*fbm(u*0.5, v*0.5, seed+9, 4))
			col = col.mix(srgb8(120, 118, 108).times(0.75+0.4*fbm(u*3, v*3, seed+10, 2)), 0.85*m)
		}
		return h, h, col
	}
	s := newSolid(p.outline, k.fracture, gridStep, k.round(), 2.2, f)
	s.gloss, s.shine = 0.05+0.05*g.Float64(), 25+25*g.Float64()
	return s
}

// surface of the unbroken kernel: half thickness and colour.
func (k *grain) surface(c coat, u, v, sd, dent float64, seed uint32) (float64, rgb) {
	if k.chip {
		return k.t / 2 * (1 + 0.18*fbm(u*0.8, v*0.8, seed, 3)), c.skin
	}
	s := (u - k.tip) / (k.top - k.tip)
	h := k.t / 2 * mix(0.72, 1, smooth(0, 0.55, s)) * (1 + 0.03*fbm(u*0.5, v*0.5, seed, 2))
	streak := fbm(u*0.35, v*2.2, seed+1, 3)
	col := c.skin.times(1 + 0.13*streak + 0.05*fbm(u*2.5, v*2.5, seed+7, 2))
	col = col.mix(c.crown, 0.9*smooth(0.62, 0.95, s+0.09*fbm(u*0.7, v*0.7, seed+2, 3)))
	col = col.mix(c.tip, smooth(0.16, 0.04, s+0.04*streak))
	if !k.onEdge {
		d := math.Hypot((s-0.955)*k.l*1.1, v*0.42)
		h *= 1 - 0.13*dent*smooth(1.5, 0.2, d)
		col = col.mix(c.crown.times(0.8), 0.35*dent*smooth(0.9, 0.1, math.Abs(d-0.7)))
	}
	if k.germUp && !k.onEdge {
		a, b := (s-0.36)/0.31, v/(0.27*k.w)
		e := a*a + b*b + 0.25*fbm(u*0.8, v*0.8, seed+3, 2)
		in := smooth(1.15, 0.75, e)
		h *= 1 - 0.10*in
		col = col.mix(c.germ, 0.75*in)
		ridge := smooth(0.5, 0.1, math.Abs(v+0.15*math.Sin(u))) * in
		h *= 1 + 0.05*ridge
		col = col.times(1 - 0.14*smooth(0.35, 0.05, math.Abs(e-0.98)))
	}
	_ = sd
	return h, col
}

// breakage lowers the surface towards broken edges and shows starch and horny endosperm there.
func (k *grain) breakage(c coat, h float64, col rgb, u, v, sd, fd, chamfer float64, seed uint32) (float64, rgb) {
	rough := fbm(u*1.6, v*1.6, seed+4, 4)
	if k.faceUp {
		h *= 0.92 + 0.14*rough
		rim := smooth(0.75, 0.3, sd+0.25*rough)
		fl := smooth(-0.15, 0.2, fbm(u*0.45, v*0.45, seed+5, 3)+0.12)
		inner := c.horn.mix(c.starch, fl).times(1 + 0.10*rough)
		if !k.chip {
			s, w := (u-k.tip)/(k.top-k.tip), v/k.w
			g := smooth(1.1, 0.8, (s-0.36)*(s-0.36)/0.085+w*w/0.06)
			inner = inner.mix(srgb8(222, 192, 120), 0.6*g)
		}
		if fd < 0.3 {
			rim *= fd / 0.3
		}
		return h, inner.mix(col, 0.8*rim)
	}
	w := chamfer * (1 + 0.7*rough)
	t := clamp(fd/math.Max(0.1, w), 0, 1)
	if t < 1 {
		h *= 0.55 + 0.45*t
		fl := smooth(-0.2, 0.25, fbm(u*0.6, v*0.6, seed+5, 3)+0.15)
		face := c.horn.mix(c.starch, fl).times(1 + 0.12*rough)
		col = col.mix(face, smooth(1, 0.75, t))
	}
	return h, col
}

func greenness(lot *Lot, g *rand.Rand) float64 { return clamp(lot.Green+normal(g, 0, 0.3, 1.8), 0, 1) }

func strawSkin(p *piece, lot *Lot, g *rand.Rand) skin {
	tan, green := jitter(srgb8(206, 178, 120), 0.16, 0.05, g), jitter(srgb8(142, 152, 78), 0.16, 0.05, g)
	base := tan.mix(green, greenness(lot, g))
	if chance(g, 0.22) {
		base = jitter(srgb8(228, 214, 176), 0.08, 0.03, g) // pith side up
	}
	if chance(g, 0.05) {
		base = jitter(srgb8(132, 84, 62), 0.1, 0.05, g)
	}
	seed, arch := g.Uint32(), g.Float64()*0.4
	return func(u, v, sd, _ float64) (float64, float64, rgb) {
		h := p.thick / 2 * (1 + 0.12*fbm(u*0.4, sd*2, seed, 2))
		col := base.times(1 + 0.22*fbm(u*0.12, sd*5, seed+1, 3) + 0.08*fbm(u*1.1, v*1.1, seed+2, 2))
		return h, h + arch*math.Max(0, math.Min(sd, 1)), col
	}
}

func stalkSkin(p *piece, lot *Lot, g *rand.Rand) skin {
	rind := jitter(srgb8(196, 172, 110), 0.12, 0.05, g).mix(jitter(srgb8(134, 150, 74), 0.14, 0.05, g), greenness(lot, g))
	pith := jitter(srgb8(228, 222, 196), 0.08, 0.03, g)
	seed := g.Uint32()
	disc := p.maxFeret < 1.35*p.minFeret && p.thick > 2.5
	pithUp := chance(g, 0.5)
	half := p.minFeret / 2
	return func(u, v, sd, _ float64) (float64, float64, rgb) {
		fib := fbm(u*0.15, v*3.2, seed, 3)
		switch {
		case disc:
			dots := smooth(0.42, 0.62, noise(u*1.5, v*1.5, seed+1))
			col := pith.times(1+0.08*fbm(u*2, v*2, seed+2, 3)).mix(srgb8(168, 150, 96), 0.6*dots)
			h := p.thick / 2 * (1 + 0.05*fbm(u*1.2, v*1.2, seed+3, 2))
			return h, h, col.mix(rind.times(0.9), smooth(1.2, 0.7, sd+0.2*fib))
		case pithUp:
			dots := smooth(0.35, 0.6, noise(u*0.2, v*2.0, seed+1))
			col := pith.times(1+0.10*fbm(u*1.6, v*1.6, seed+2, 3)).mix(srgb8(190, 172, 118), 0.45*dots)
			h := p.thick / 2 * (0.9 + 0.09*fbm(u*0.5, v*0.8, seed+3, 3))
			return h, h, col.mix(rind, smooth(0.9, 0.4, sd+0.25*fib))
		}
		t := clamp(v/half, -1, 1)
		h := p.thick / 2 * (0.5 + 0.5*math.Sqrt(math.Max(0.02, 1-t*t)))
		return h, h, rind.times(1 + 0.16*fib + 0.10*fbm(u*0.8, v*0.8, seed+5, 3))
	}
}

func leafSkin(p *piece, lot *Lot, g *rand.Rand) skin {
	green, dry := jitter(srgb8(84, 116, 46), 0.20, 0.06, g), jitter(srgb8(186, 168, 104), 0.14, 0.05, g)
	base := dry.mix(green, greenness(lot, g))
	seed, pitch := g.Uint32(), 0.9+0.7*g.Float64()
	mid := math.Inf(1)
	if chance(g, 0.2) {
		mid = normal(g, 0, 0.2, 1.5) * p.minFeret
	}
	rib := clamp(0.11*p.minFeret, 0.25, 1.4)
	curl, wave := math.Abs(normal(g, 0, 0.05, 2)), 0.3+0.8*g.Float64()
	fold := math.Inf(1)
	if p.minFeret > 7 && chance(g, 0.25) {
		fold = normal(g, 0, 0.25, 1.5) * p.minFeret
	}
	return func(u, v, sd, _ float64) (float64, float64, rgb) {
		vein := math.Cos(2 * math.Pi * (v/pitch + 0.15*fbm(u*0.1, v*0.3, seed, 2)))
		col := base.times(1 + 0.09*vein + 0.10*fbm(u*0.25, v*2.5, seed+1, 3) + 0.12*fbm(u*0.15, v*0.15, seed+2, 2))
		col = col.mix(srgb8(150, 120, 60), 0.7*smooth(0.45, 0.7, fbm(u*0.3, v*0.3, seed+3, 3)))
		col = col.mix(base.mix(srgb8(214, 216, 160), 0.7), smooth(rib, 0.5*rib, math.Abs(v-mid)))
		h, m := p.thick/2, 0.15+p.thick/2+math.Min(2.5, curl*v*v*0.5)+0.35*wave*(1+fbm(u*0.12, v*0.2, seed+4, 2))
		if d := v - fold; d > -0.3 && !math.IsInf(fold, 1) {
			col = col.times(mix(0.72, 1.05, smooth(-0.3, 0.6, d)))
			m += 0.5 * smooth(-0.3, 0.3, d)
		}
		return h, m, col.times(1 - 0.15*smooth(0.25, 0.05, sd))
	}
}

func huskSkin(p *piece, g *rand.Rand) skin {
	base := jitter(srgb8(222, 210, 166), 0.10, 0.04, g)
	if chance(g, 0.3) {
		base = base.mix(srgb8(170, 184, 110), 0.6)
	}
	seed, pitch := g.Uint32(), 0.7+0.5*g.Float64()
	curl := math.Abs(normal(g, 0, 0.06, 2))
	return func(u, v, sd, _ float64) (float64, float64, rgb) {
		vein := math.Cos(2 * math.Pi * (v/pitch + 0.2*fbm(u*0.1, v*0.4, seed, 2)))
		col := base.times(1 + 0.05*vein + 0.08*fbm(u*0.3, v*3, seed+1, 3) + 0.08*fbm(u*0.2, v*0.2, seed+2, 2))
		h := p.thick / 2
		return h, h + 0.1 + math.Min(2.5, curl*v*v*0.5) + 0.3*(1+fbm(u*0.15, v*0.2, seed+4, 2)), col
	}
}

func cobSkin(p *piece, g *rand.Rand) skin {
	chaff := jitter(srgb8(164, 104, 84), 0.15, 0.05, g)
	if chance(g, 0.35) {
		chaff = jitter(srgb8(222, 200, 164), 0.08, 0.04, g)
	}
	wood, pith := jitter(srgb8(206, 178, 132), 0.1, 0.04, g), jitter(srgb8(236, 228, 208), 0.05, 0.02, g)
	seed := g.Uint32()
	ring := p.minFeret > 15 && p.maxFeret < 1.4*p.minFeret
	outer := p.minFeret / 2
	return func(u, v, sd, _ float64) (float64, float64, rgb) {
		rough := fbm(u*1.1, v*1.1, seed, 4)
		h := p.thick / 2 * (1 + 0.11*rough)
		if ring {
			r := math.Hypot(u, v) / outer
			col := pith.mix(wood, smooth(0.30, 0.40, r+0.05*rough))
			col = col.mix(chaff, smooth(0.62, 0.75, r+0.08*rough))
			return h * (1 - 0.15*smooth(0.4, 0.2, r)), h, col.times(1 + 0.22*fbm(u*2.5, v*2.5, seed+1, 3))
		}
		col := wood.mix(chaff, smooth(-0.2, 0.15, fbm(u*0.35, v*0.35, seed+2, 2)))
		col = col.mix(pith, 0.8*smooth(0.3, 0.5, fbm(u*0.3, v*0.3, seed+3, 2)))
		return h, h, col.times(1 + 0.25*fbm(u*2.2, v*2.2, seed+1, 3))
	}
}
