package scene

import (
	"math"
	"math/rand/v2"
)

// Kinds of extras.
const (
	kindPen    = "pen"
	kindCrumb  = "crumb"
	kindStone  = "stone"
	kindHair   = "hair"
	kindDrop   = "drop"
	kindFinger = "finger"
)

// strewExtras lays what is neither kernel nor stover; it comes before the pieces, which keep away from it, but hairs and
// drops lie anywhere.
func (sc Scene) strewExtras(lay *layout, b *ground, view []XY) []*piece {
	g := stream(sc.Seed, streamExtras)
	e := sc.Settings.Extras
	var out []*piece
	keep := func(p *piece, ok bool) {
		if ok {
			out = append(out, p)
		}
	}
	for i := e.Finger.count(g); i > 0; i-- {
		keep(finger(lay, view, g), true)
	}
	for i := e.Pen.count(g); i > 0; i-- {
		p := pen(g)
		keep(p, lay.placeApart(p, 1.5, g))
	}
	for i := e.Stones.count(g); i > 0; i-- {
		p := lump(kindStone, clamp(logNormal(g, 6, 1.5), 2, 18), srgb8(136, 130, 124), 0.6, g)
		keep(p, lay.placeApart(p, 1, g))
	}
	for i := e.Crumbs.count(g); i > 0; i-- {
		p := lump(kindCrumb, clamp(logNormal(g, 2.2, 1.7), 0.6, 9), srgb8(74, 54, 38), 0.5, g)
		keep(p, lay.placeApart(p, 0.7, g))
	}
	for i := e.Drops.count(g); i > 0; i-- {
		p := lump(kindDrop, clamp(logNormal(g, 3, 1.6), 1, 9), b.base.times(0.8), 0.22, g)
		p.solid.gloss, p.solid.shine = 0.5, 220
		keep(p, lay.placeApart(p, 0.6, g))
	}
	lay.pieces = nil
	for i := e.Hairs.count(g); i > 0; i-- {
		out = append(out, hair(lay, g)...)
	}
	return out
}

// plain is a piece of one colour with a mottle.
func plain(kind string, outline []XY, thick, round, step float64, c rgb, mottle float64, g *rand.Rand) *piece {
	p := &piece{kind: kind, thick: thick}
	p.centre(outline)
	_, p.minFeret, _ = ferets(p.outline)
	seed := g.Uint32()
	p.solid = newSolid(p.outline, nil, step, math.Min(round, 0.45*p.minFeret), 0.01, func(u, v, _, _ float64) (float64, float64, rgb) {
		h := thick / 2 * (1 + 0.6*mottle*fbm(u*0.5, v*0.5, seed, 3))
		return h, h, c.times(1 + mottle*fbm(u*1.3, v*1.3, seed+1, 4))
	})
	p.solid.gloss, p.solid.shine = 0.01, 10
	return p
}

func lump(kind string, size float64, c rgb, flat float64, g *rand.Rand) *piece {
	out := smoothed(chipOutline(0.75*size*size, 1+0.5*g.Float64(), g), 6)
	mottle := 0.35
	if kind == kindDrop {
		mottle = 0
	}
	return plain(kind, out, size*flat, size*0.45, gridStep, jitter(c, 0.3, 0.06, g), mottle, g)
}

func pen(g *rand.Rand) *piece {
	l, w := 125+25*g.Float64(), 8+2.5*g.Float64()
	out := []XY{{-l / 2, -w / 6}, {-l/2 + 14, -w / 2}, {l / 2, -w / 2}, {l / 2, w / 2}, {-l/2 + 14, w / 2}, {-l / 2, w / 6}}
	p := plain(kindPen, out, w, w*0.45, 0.25, jitter(rgb{0.05, 0.1, 0.4}, 0.6, 0.3, g), 0.02, g)
	p.solid.gloss, p.solid.shine = 0.2, 80
	return p
}

// finger reaches into the photo from its edge.
func finger(lay *layout, view []XY, g *rand.Rand) *piece {
	a, c := view[g.IntN(len(view))], Centroid(view)
	n := 80
	out := make([]XY, n)
	for i := range out {
		u := unit(float64(i) / float64(n) * 2 * math.Pi)
		out[i] = XY{34 * math.Copysign(math.Pow(math.Abs(u[0]), 0.8), u[0]), 8.5 * math.Copysign(math.Pow(math.Abs(u[1]), 0.8), u[1])}
	}
	p := plain(kindFinger, out, 13, 6, 0.3, jitter(srgb8(206, 160, 132), 0.25, 0.04, g), 0.06, g)
	way := sub(c, a)
	p.turn(math.Atan2(way[1], way[0]) + normal(g, 0, 0.3, 2))
	p.pos = add(a, scale(way, -4/math.Hypot(way[0], way[1])))
	lay.block(p.worldOutline(), 2)
	return p
}

// hair is a chain of short strands.
func hair(lay *layout, g *rand.Rand) []*piece {
	at, angle := lay.spot(g), g.Float64()*2*math.Pi
	w, turn := 0.07+0.08*g.Float64(), normal(g, 0, 0.12, 2)
	c := jitter(srgb8(60, 44, 34), 0.4, 0.1, g)
	var out []*piece
	const l = 4.0
	for n := 10 + g.IntN(20); n > 0; n-- {
		p := plain(kindHair, []XY{{-l/2 - w, -w / 2}, {l/2 + w, -w / 2}, {l/2 + w, w / 2}, {-l/2 - w, w / 2}}, w, w*0.4, 0.04, c, 0, g)
		p.fine = true
		p.turn(angle)
		d := unit(angle)
		p.pos = add(at, scale(d, l/2))
		p.base = 0.2
		at = add(at, scale(d, l))
		turn = clamp(turn+normal(g, 0, 0.06, 2), -0.3, 0.3)
		angle += turn
		out = append(out, p)
	}
	return out
}
