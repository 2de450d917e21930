package scene

import (
	"math"
	"math/rand/v2"
)

// firstOdd is the first seed of the odd scenes.
const firstOdd = 8_600_000_000

// Odd is the n-th wild scene on a ground or of a crop beyond those of Wild: a tray of any colour, ribbed, of wood of any grain, of speckled stone or of sacking,
// kernels of any colour from purple over red to yellow, chop that turned brown in a clamp. So what a network is fitted on is wider than what is reported on.
func Odd(n uint64) Scene {
	sc := Wild(firstOdd - firstWild + n)
	g, s := stream(sc.Seed, streamOdd), &sc.Settings
	s.Family = "odd"
	if chance(g, 0.8) {
		s.Tray.Kinds = []string{oneOf(g, []string{"any", "any", "any", "timber", "timber", "speckled", "ribbed", "sacking"})}
		s.Tray.Texture = Range{0.3, 1.8}
	}
	if chance(g, 0.5) {
		s.Lot.Hybrid, s.Lot.Skin = "other", anySkin(g)
	}
	s.Lot.Brown = sometimes(g, 0.3, 1)
	if s.Scale.Sheet == "mat-a4" && chance(g, 0.7) {
		s.Scale.Sheet = "card" // a mat hides the tray
	}
	s.Place.Kernels[0], s.Place.Pieces[0] = s.Place.Kernels[1]/2, s.Place.Pieces[1]/2
	return sc
}

// anySkin is the colour of a kernel's skin, display values: any hue from purple over red to yellow, from nearly black to pale.
func anySkin(g *rand.Rand) []float64 {
	c := hued(-80+135*g.Float64(), 0.15+0.75*g.Float64(), 0.12+0.83*math.Sqrt(g.Float64()))
	return []float64{255 * c[0], 255 * c[1], 255 * c[2]}
}

// hued is a colour in display values 0..1, by hue (degrees), saturation and value.
func hued(deg, saturation, value float64) (c rgb) {
	for k := range c {
		at := math.Mod(float64(5-2*k)+deg/60+6, 6)
		c[k] = value * (1 - saturation*clamp(math.Min(at, 4-at), 0, 1))
	}
	return c
}

// otherBase is the colour of a ground of which no two are alike, and whether its kind is one.
func otherBase(kind string, g *rand.Rand) (rgb, bool) {
	var c rgb
	switch kind {
	case "any", "ribbed":
		c = hued(360*g.Float64(), math.Pow(g.Float64(), 0.7), 0.1+0.85*g.Float64())
	case "timber":
		c = hued(18+32*g.Float64(), 0.15+0.6*g.Float64(), 0.25+0.65*g.Float64())
	case "speckled":
		c = hued(20+30*g.Float64(), 0.2*g.Float64(), 0.3+0.55*g.Float64())
	case "sacking":
		c = hued(26+16*g.Float64(), 0.2+0.35*g.Float64(), 0.4+0.4*g.Float64())
	default:
		return c, false
	}
	return srgb8(255*c[0], 255*c[1], 255*c[2]), true
}

// other is the look of such a ground at q, mm, in the tray's own frame.
func (b *ground) other(q XY) (rgb, XY) {
	h := func(k uint32) float64 { return hashUnit(7, 7, b.seed+300+k) }
	broad := fbm(q[0]*0.02, q[1]*0.02, b.seed+301, 3)
	switch b.kind {
	case "timber":
		return b.timber(q, h)
	case "speckled":
		return b.speckled(q, broad, h)
	case "sacking":
		pitch := 1 + 1.5*h(0)
		weave := math.Sin(2*math.Pi*q[0]/pitch) + math.Sin(2*math.Pi*q[1]/pitch)
		slub := fbm(q[0]*0.4, q[1]*0.4, b.seed+302, 3)
		return b.base.times(1 + b.texture*(0.09*weave+0.08*slub+0.06*broad)), XY{0.08 * weave, 0.08 * slub}
	}
	// ribbed
	pitch := 14 + 24*h(0)
	x := math.Mod(q[0]/pitch+1e4, 1)*pitch - pitch/2
	side := smooth(1.6, 0.6, math.Abs(math.Abs(x)-1.2)) * math.Copysign(0.6, x)
	return b.base.times(1 + b.texture*(0.05*broad+0.03*fbm(q[0]*2.3, q[1]*2.3, b.seed+303, 2))), XY{side, 0}
}

// timber is wood of any grain: rings a few mm apart, soft or strong, straight or winding, and boards of any width.
func (b *ground) timber(q XY, h func(k uint32) float64) (rgb, XY) {
	wide := 50 + 90*h(0)
	n := math.Floor(q[1] / wide)
	seed := b.seed + 310 + uint32(int32(n))*977
	y := q[1] - n*wide
	pitch, wind := 1.8+6*h(1), 0.3+1.5*h(2)
	rings := math.Sin(2 * math.Pi * (y/pitch + wind*fbm(q[0]*0.012, q[1]*0.03, seed, 3)*6))
	if h(3) < 0.5 {
		rings = smooth(-0.2, 1, rings) // dark lines in pale wood
	}
	fibre := fbm(q[0]*0.25, q[1]*2.5, seed+2, 3)
	tone := 0.2 * (hashUnit(int32(n), 3, b.seed) - 0.5)
	c := b.base.times(math.Max(0.2, 1+tone-b.texture*((0.04+0.16*h(4))*rings+(0.04+0.1*h(5))*fibre)))
	gap := smooth(1.2, 0.4, math.Min(y, wide-y))
	return c.times(1 - 0.8*gap), XY{0, 0.08 * fibre}
}

// speckled is stone, terrazzo or rough concrete: grains of another tone, and pits.
func (b *ground) speckled(q XY, broad float64, h func(k uint32) float64) (rgb, XY) {
	size := 0.5 + 2*h(0)
	id, border := cellular(q[0]/size, q[1]/size, b.seed+320)
	tone := float64(id&255)/255 - 0.5
	c := b.base.times(1 + b.texture*(0.5*h(1)*tone+0.06*broad))
	if float64(id>>8&255)/255 < 0.12*h(2) {
		c = c.mix(rgb{0.05, 0.045, 0.04}, 0.6*smooth(0, 0.3, border))
	}
	return c, XY{0.05 * tone, 0.05 * tone}
}

// otherCoat is that of a hybrid of the lot's own skin.
func otherCoat(lot *Lot) coat { return coatOf(srgb8(lot.Skin[0], lot.Skin[1], lot.Skin[2])) }

// coatOf is the coat that goes with a skin: crown and germ are paler.
func coatOf(skin rgb) coat {
	return coat{skin: skin, crown: skin.mix(rgb{0.8, 0.7, 0.5}, 0.2), germ: skin.mix(rgb{0.75, 0.6, 0.38}, 0.4)}
}

// browned is a colour after the clamp: darker, and browner.
func browned(c rgb, brown float64) rgb {
	return rgb{c[0] * mix(1, 0.62, brown), c[1] * mix(1, 0.50, brown), c[2] * mix(1, 0.36, brown)}
}
