package scene

import (
	"math"
	"math/rand/v2"

	"gristmark/internal/result"
)

// newStover draws one piece of stover of the lot and measures it.
func newStover(lot *Lot, g *rand.Rand) *piece {
	p := &piece{class: result.Stover, kind: drawKind(lot.Stover, g), seed: g.Uint64()}
	cut := drawCut(lot, g)
	switch p.kind {
	case kindStraw:
		p.straw(cut, g)
	case kindStalk:
		p.stalk(cut, g)
	case kindLeaf:
		p.scrap(cut, logNormal(g, 4.6, 1.7), 0.2+0.25*g.Float64(), g)
	case kindHusk:
		p.scrap(cut, logNormal(g, 5, 1.65), 0.25+0.3*g.Float64(), g)
	default:
		p.cob(cut, g)
	}
	p.measure()
	p.box = drawBox(p, g)
	return p
}

func drawKind(m Mix, g *rand.Rand) string {
	u := g.Float64() * (m.Straw + m.Stalk + m.Leaf + m.Husk + m.Cob)
	for _, k := range []struct {
		w    float64
		kind string
	}{{m.Straw, kindStraw}, {m.Stalk, kindStalk}, {m.Leaf, kindLeaf}, {m.Husk, kindHusk}} {
		if u < k.w {
			return k.kind
		}
		u -= k.w
	}
	return kindCob
}

// drawCut is the length along the plant: log-normal with a number median of 0.42 of the length of cut, since rolls and
// blower shatter pieces,
// with a tail of pieces that slipped through lengthwise.
func drawCut(lot *Lot, g *rand.Rand) float64 {
	for {
		l := logNormal(g, 0.42*lot.CutMM, lot.CutGSD)
		if chance(g, lot.LongTail) {
			l = logNormal(g, 1.9*lot.CutMM, 1.35)
		}
		if l >= lot.PieceMinMM && l < 140 {
			return l
		}
	}
}

// straw is a splinter of rind: a bent strip.
func (p *piece) straw(l float64, g *rand.Rand) {
	w := clamp(logNormal(g, 1.5, 1.5), 0.6, math.Max(0.65, math.Min(3.4, 0.45*l)))
	p.thick = clamp(w*(0.25+0.35*g.Float64()), 0.25, 1.2)
	bend := normal(g, 0, 0.35, 2.2) * math.Min(1.6, l/30)
	if chance(g, 0.12) {
		bend *= 2.2
	}
	p.centreline = arc(l, bend, normal(g, 0, 0.25, 2)*bend)
	seed := g.Uint32()
	taper := 0.25 * g.Float64()
	p.strip(func(s float64) float64 {
		return w / 2 * (1 - taper*s) * (1 + 0.12*noise(s*l*0.25, 1.7, seed))
	}, normal(g, 0, 0.5, 1.8)*w, normal(g, 0, 0.5, 1.8)*w)
}

// arc is a centreline of length l whose direction turns by bend (radians), and back by twist, from end to end.
func arc(l, bend, twist float64) []XY {
	n := max(12, int(l/0.8))
	line := make([]XY, n+1)
	for i := 1; i <= n; i++ {
		s := (float64(i) - 0.5) / float64(n)
		line[i] = add(line[i-1], scale(unit(bend*(s-0.5)+twist*math.Sin(2*math.Pi*s)), l/float64(n)))
	}
	return line
}

// strip widens the centreline to an outline; the ends are cut oblique by a and b mm.
func (p *piece) strip(half func(s float64) float64, a, b float64) {
	n := len(p.centreline) - 1
	left, right := make([]XY, n+1), make([]XY, n+1)
	for i, q := range p.centreline {
		d := sub(p.centreline[min(i+1, n)], p.centreline[max(i-1, 0)])
		d = scale(d, 1/math.Hypot(d[0], d[1]))
		s := float64(i) / float64(n)
		h := half(s)
		slant := a/2*math.Max(0, 1-6*s) + b/2*math.Max(0, 6*s-5)
		nrm := XY{-d[1], d[0]}
		left[i] = add(add(q, scale(nrm, h)), scale(d, slant))
		right[i] = add(sub(q, scale(nrm, h)), scale(d, -slant))
	}
	out := append([]XY(nil), left...)
	for i := n; i >= 0; i-- {
		out = append(out, right[i])
	}
	c := Centroid(out)
	p.centre(out)
	for i := range p.centreline {
		p.centreline[i] = sub(p.centreline[i], c)
	}
}

// stalk is a chunk split off the stalk, or a round of it when the cut was short.
func (p *piece) stalk(l float64, g *rand.Rand) {
	d := clamp(logNormal(g, 12, 1.35), 5, 26)
	if l < 0.75*d && chance(g, 0.18) {
		p.round(d, clamp(l, 3, 12), 0.03, 0, g)
		return
	}
	w := d * (0.18 + 0.5*g.Float64()*(0.4+0.6*g.Float64()))
	p.thick = math.Min(0.5*w, 1.5+0.4*d*g.Float64())
	p.slab(l, w, 0.06, 0.03, g)
}

// scrap is a piece of leaf or husk: cut across at both ends, torn or grown along the sides.
func (p *piece) scrap(l, w, thick float64, g *rand.Rand) {
	w = clamp(w, 1.6, 32)
	p.thick = thick
	p.slab(l, w, 0.10, 0.05, g)
}

// cob is a chunk of the cob, or a ring of it.
func (p *piece) cob(l float64, g *rand.Rand) {
	if l > 4 && l < 20 && chance(g, 0.15) {
		p.round(clamp(normal(g, 23, 2.5, 2), 17, 29), clamp(l, 4, 14), 0.035, float64(13+g.IntN(5)), g)
		return
	}
	size := clamp(logNormal(g, 7.5, 1.5), 3, 20)
	p.thick = size * (0.3 + 0.25*g.Float64())
	p.centre(chipOutline(0.75*size*size, 1+0.9*g.Float64(), g))
}

// round is a disc of diameter d and height h with a wavy rim.
func (p *piece) round(d, h, rough, lobes float64, g *rand.Rand) {
	seed, oval := g.Uint32(), 0.85+0.15*g.Float64()
	n := max(80, int(d*10))
	out := make([]XY, n)
	for i := range out {
		a := float64(i) / float64(n) * 2 * math.Pi
		u := unit(a)
		r := d / 2 * (1 + rough*fbm(u[0]*2+5, u[1]*2, seed, 3))
		if lobes > 0 {
			r *= 1 + 0.035*math.Cos(lobes*a)
		}
		out[i] = XY{u[0] * r, u[1] * r * oval}
	}
	p.thick = h
	p.centre(out)
}

// slab is a piece l long with the fibre and w wide: ends cut nearly straight, sides rougher and not parallel.
func (p *piece) slab(l, w, sides, ends float64, g *rand.Rand) {
	slantA, slantB := normal(g, 0, 0.22, 2), normal(g, 0, 0.22, 2)
	taper, bow := normal(g, 0, 0.12, 2), normal(g, 0, 0.05, 2)
	if chance(g, 0.2) {
		taper = normal(g, 0.55, 0.2, 1.5)
	}
	seed := g.Uint32()
	corner := []XY{{-l/2 - slantA*w/2, -w / 2 * (1 + taper)}, {l/2 - slantB*w/2, -w / 2 * (1 - taper)},
		{l/2 + slantB*w/2, w / 2 * (1 - taper)}, {-l/2 + slantA*w/2, w / 2 * (1 + taper)}}
	var out []XY
	for i, a := range corner {
		b := corner[(i+1)%4]
		e := sub(b, a)
		n := max(4, int(math.Hypot(e[0], e[1])/0.35))
		nrm := scale(XY{e[1], -e[0]}, 1/math.Max(1e-9, math.Hypot(e[0], e[1])))
		rough := sides * math.Min(w, 12)
		if i%2 == 1 {
			rough = ends * math.Min(l, 12)
		}
		for j := 0; j < n; j++ {
			t := float64(j) / float64(n)
			env := math.Min(1, 5*math.Min(t, 1-t))
			d := rough * env * fbm(t*math.Hypot(e[0], e[1])*0.35, float64(i)*9.1, seed, 4)
			q := add(add(a, scale(e, t)), scale(nrm, d))
			q[1] += bow * (q[0] * q[0] / l)
			out = append(out, q)
		}
	}
	out = smoothed(out, 2)
	c := Centroid(out)
	p.centre(out)
	p.centreline = make([]XY, 33)
	for i := range p.centreline {
		t := 1.5 * (float64(i)/32 - 0.5) // beyond both ends, however rough
		q := XY{t * l, bow * t * t * l}
		if w > l { // its ends are the sides torn along the fibre
			q = XY{(slantA + slantB) / 2 * t * w, t * w}
		}
		p.centreline[i] = sub(q, c)
	}
}

// measure fills in lengths, area and mass from the outline. Stover is as long as the line that it was drawn along, a chunk
// without one as its extent across the narrowest; what is not 1.5 times as long as wide, as its largest Feret diameter.
func (p *piece) measure() {
	p.area = Area(p.outline)
	largest, smallest, across := ferets(p.outline)
	p.maxFeret, p.minFeret = largest, smallest
	p.length = largest
	long := across
	switch {
	case p.kind == kindStraw:
		long = lineLength(p.centreline)
	case p.centreline != nil:
		long = lengthWithin(p.centreline, p.outline)
	}
	if long*long >= 1.5*p.area {
		p.length = long
	}
	p.width = p.area / p.length
	r := math.Min(0.4*p.thick, 0.4*smallest)
	fill := 1.0
	if p.kind == kindStalk && p.thick > 3 && p.minFeret > 1.2*p.thick {
		fill = 0.75 // half round
	}
	p.mass = roundedVolume(p.area, perimeter(p.outline), p.thick, r) * fill * density[p.kind]
	p.fracture = make([]bool, len(p.outline))
}

func lineLength(line []XY) float64 {
	sum := 0.0
	for i := 1; i < len(line); i++ {
		sum += dist(line[i-1], line[i])
	}
	return sum
}

// drawBox sends a piece down a box with holes of 19, 8 and 4 mm. A piece wider than the hole stays. A narrower one falls
// when it stands up in the hole: it stays with probability 1/(1+exp(-(ln(L/hole)-ln 1.5)/0.22)). The form and both figures are an
// assumption of this renderer: the box sorts long pieces by chance, and half of those 1.5 holes long come through.
func drawBox(p *piece, g *rand.Rand) int {
	for i, hole := range []float64{19, 8, 4} {
		if p.width >= hole || chance(g, 1/(1+math.Exp(-(math.Log(p.length/hole)-math.Log(1.5))/0.22))) {
			return i
		}
	}
	return 3
}
