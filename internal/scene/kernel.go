package scene

import (
	"math"
	"math/rand/v2"
)

// grain is one kernel before and after the rolls: its plan outline and what is known of it.
// Local frame: u along the length from tip cap (u < 0) to crown, v across, mm.
type grain struct {
	l, w, t  float64
	tip, top float64 // u of the tip and of the crown
	own      []XY    // unbroken outline
	outline  []XY    // what is left
	fracture []bool  // edge i (from vertex i) is a broken face
	share    float64 // area left over own unbroken area
	faceUp   bool    // a fracture face lies uppermost
	chip     bool    // too small to know where it sat
	germUp   bool
	onEdge   bool // lies on its narrow side
}

// dentProfile is the half width of a dent kernel over half the width W/2 at s from tip (0) to crown (1):
// stations from pictures of dent maize, common practice.
var dentProfile = [][2]float64{{0, 0.20}, {0.04, 0.33}, {0.12, 0.46}, {0.25, 0.62}, {0.4, 0.78}, {0.55, 0.91}, {0.7, 0.99}, {0.8, 1.0}, {0.9, 0.93}, {0.96, 0.78}, {1, 0.55}}

func profileAt(s, round float64) float64 {
	p := dentProfile
	i := 0
	for i < len(p)-2 && s > p[i+1][0] {
		i++
	}
	t := (s - p[i][0]) / (p[i+1][0] - p[i][0])
	dent := mix(p[i][1], p[i+1][1], t)
	x := 2*s - 1
	oval := math.Pow(math.Max(0, 1-math.Pow(math.Abs(x), 2.3)), 1/2.3)
	return mix(dent, oval, round)
}

// drawGrain draws an unbroken kernel of the lot.
func drawGrain(lot *Lot, g *rand.Rand) grain {
	k := grain{l: normal(g, lot.LengthMM, lot.LengthSD, 2.5), w: normal(g, lot.WidthMM, lot.WidthSD, 2.5), t: normal(g, lot.ThicknessMM, lot.ThicknessSD, 2.2), share: 1}
	k.germUp = chance(g, 0.45)
	k.onEdge = chance(g, 0.02)
	if k.onEdge {
		k.w, k.t = k.t, k.w*0.97
	}
	k.own = grainOutline(k.l, k.w, g)
	lo, hi := bounds(k.own)
	k.tip, k.top = lo[0], hi[0]
	k.outline = k.own
	k.fracture = make([]bool, len(k.own))
	return k
}

func grainOutline(l, w float64, g *rand.Rand) []XY {
	round := clamp(normal(g, 0.18, 0.15, 2), 0, 0.75)
	bend, skew := normal(g, 0, 0.25, 2), normal(g, 0, 0.04, 2)
	dip := clamp(normal(g, 0.10, 0.16, 2), 0, 0.35) // of the crown, mm
	lump := g.Uint32()
	var side [2][]XY
	const n = 40
	for i := 0; i <= n; i++ {
		s := (1 - math.Cos(math.Pi*float64(i)/n)) / 2
		for k, sign := range []float64{1, -1} {
			f := profileAt(s, round) * (1 + sign*skew*math.Sin(3*s)) * (1 + 0.025*noise(s*4, sign*3, lump))
			side[k] = append(side[k], XY{(s - 0.5) * l, sign*f*w/2 + bend*math.Sin(math.Pi*s)})
		}
	}
	// Crown: a flat arc between the two shoulders, dented in the middle. Tip: a small arc.
	a, b := side[0][n], side[1][n]
	out := append([]XY(nil), side[0]...)
	for i := 1; i < 12; i++ {
		t := float64(i) / 12
		p := add(a, scale(sub(b, a), t))
		p[0] += 0.35*math.Sqrt(4*t*(1-t)) - dip*math.Pow(math.Sin(math.Pi*t), 2) + 0.05*noise(t*5, 7, lump)
		out = append(out, p)
	}
	for i := n; i >= 0; i-- {
		out = append(out, side[1][i])
	}
	tip := math.Abs(side[0][0][1]-side[1][0][1]) / 2
	for i := 1; i < 6; i++ {
		t := float64(i) / 6
		p := add(side[1][0], scale(sub(side[0][0], side[1][0]), t))
		p[0] -= 0.6 * tip * math.Sqrt(4*t*(1-t))
		out = append(out, p)
	}
	return smoothed(dedupe(out), 2)
}

func dedupe(p []XY) []XY {
	var out []XY
	for _, q := range p {
		if len(out) == 0 || dist(q, out[len(out)-1]) > 0.03 {
			out = append(out, q)
		}
	}
	for len(out) > 1 && dist(out[0], out[len(out)-1]) < 0.03 {
		out = out[:len(out)-1]
	}
	return out
}

func smoothed(p []XY, rounds int) []XY {
	for ; rounds > 0; rounds-- {
		q := make([]XY, len(p))
		for i := range p {
			a, b := p[(i+len(p)-1)%len(p)], p[(i+1)%len(p)]
			q[i] = add(scale(p[i], 0.5), scale(add(a, b), 0.25))
		}
		p = q
	}
	return p
}

// drawKernelPiece draws one kernel piece of the processed lot: whole, nicked, cut, or a chip.
func drawKernelPiece(lot *Lot, g *rand.Rand) grain {
	for {
		k := drawGrain(lot, g)
		u := g.Float64()
		switch {
		case u < lot.WholeShare:
			return k
		case u < lot.WholeShare+lot.NickShare:
			k.onEdge = false
			if k.cut(1-math.Abs(normal(g, 0.05, 0.025, 2)), breakWay(g), g) {
				return k
			}
			continue
		}
		share := logNormal(g, lot.ShareMedian, lot.ShareGSD)
		if share > 0.93 {
			continue
		}
		if share > 0.14 {
			k.breakTo(share, g)
		} else {
			k.chipOff(share, g)
		}
		if largest, _, _ := ferets(k.outline); largest >= lot.KernelMinMM && k.share < 0.95 {
			return k
		}
	}
}

// breakTo cuts the kernel one to three times until about share of the outline is left.
func (k *grain) breakTo(share float64, g *rand.Rand) {
	cuts := 1
	if share < 0.65 {
		cuts += g.IntN(2)
	}
	if share < 0.35 {
		cuts = 2 + g.IntN(2)
	}
	way := breakWay(g)
	for i := cuts; i > 0; i-- {
		k.cut(math.Pow(share/k.share, 1/float64(i)), way, g)
		way += math.Pi/2 + math.Pi*float64(g.IntN(2)) // small pieces are chunks more often than slivers
	}
	k.germUp = chance(g, 0.5)
	k.faceUp = chance(g, 0.3)
	if k.faceUp {
		k.t *= 0.35 + 0.4*g.Float64()
	} else if k.share < 0.45 {
		k.t *= 0.65 + 0.35*g.Float64()
	}
	// A piece taller than wide falls over: it lies on its larger face.
	if _, small, _ := ferets(k.outline); k.t > 0.95*small {
		k.t = small * (0.6 + 0.35*g.Float64())
	}
}

// breakWay is the direction in which a break moves on from the kernel: most breaks run across it.
func breakWay(g *rand.Rand) float64 {
	if chance(g, 0.6) {
		return math.Pi*float64(g.IntN(2)) + normal(g, 0, 0.5, 2)
	}
	return g.Float64() * 2 * math.Pi
}

// cut removes 1-keep of the current outline with one rough line about square to the direction way (radians); false where no such cut was found.
func (k *grain) cut(keep, way float64, g *rand.Rand) bool {
	for try := 0; try < 8; try++ {
		n := unit(way + normal(g, 0, 0.35, 2) + 0.8*float64(try)*g.Float64())
		seed, rough := g.Uint32(), 0.12+0.2*g.Float64()
		bow := normal(g, 0, 0.05, 2)
		lo, hi := extentAlong(k.outline, n)
		before := Area(k.outline)
		for i := 0; i < 22; i++ {
			m := (lo + hi) / 2
			if halfPlaneArea(k.outline, n, m) < keep*before {
				lo = m
			} else {
				hi = m
			}
		}
		out, fr, ok := roughClip(k.outline, k.fracture, n, lo, bow, rough, seed)
		if !ok {
			continue
		}
		left := Area(out) / Area(k.own)
		if math.Abs(Area(out)/before-keep) > math.Max(0.02, 0.3*(1-keep)) {
			continue
		}
		k.outline, k.fracture, k.share = out, fr, left
		return true
	}
	return false
}

func extentAlong(p []XY, n XY) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, q := range p {
		lo, hi = math.Min(lo, dot(q, n)), math.Max(hi, dot(q, n))
	}
	return lo, hi
}

// halfPlaneArea of the part with p·n below d.
func halfPlaneArea(p []XY, n XY, d float64) float64 {
	var out []XY
	for i, a := range p {
		b := p[(i+1)%len(p)]
		da, db := dot(a, n)-d, dot(b, n)-d
		if da <= 0 {
			out = append(out, a)
		}
		if (da <= 0) != (db <= 0) {
			out = append(out, add(a, scale(sub(b, a), da/(da-db))))
		}
	}
	if len(out) < 3 {
		return 0
	}
	return Area(out)
}

// roughClip keeps the part below the curve p·n = d + bow t² + roughness(t), t along the cut, and marks the new edges.
func roughClip(p []XY, fr []bool, n XY, d, bow, rough float64, seed uint32) ([]XY, []bool, bool) {
	along := XY{-n[1], n[0]}
	curve := func(t float64) float64 { return d + bow*t*t + rough*fbm(t*0.9, 3.3, seed, 3) }
	f := func(q XY) float64 { return dot(q, n) - curve(dot(q, along)) }
	var out []XY
	var mark []bool
	crossings := 0
	var leave XY
	leaveAt, enterAt := -1, -1
	for i, a := range p {
		b := p[(i+1)%len(p)]
		fa, fb := f(a), f(b)
		if fa <= 0 {
			out, mark = append(out, a), append(mark, fr[i])
		}
		if (fa <= 0) == (fb <= 0) {
			continue
		}
		crossings++
		x := add(a, scale(sub(b, a), fa/(fa-fb)))
		if fa <= 0 {
			leave, leaveAt = x, len(out)
			out, mark = append(out, x), append(mark, true)
		} else {
			enterAt = len(out)
			out, mark = append(out, x), append(mark, fr[i])
		}
	}
	if crossings != 2 || len(out) < 5 {
		return nil, nil, false
	}
	t0, t1 := dot(leave, along), dot(out[enterAt], along)
	steps := int(math.Abs(t1-t0) / 0.18)
	var line []XY
	for i := 1; i < steps; i++ {
		t := mix(t0, t1, float64(i)/float64(steps))
		line = append(line, add(scale(along, t), scale(n, curve(t))))
	}
	marks := make([]bool, len(line))
	for i := range marks {
		marks[i] = true
	}
	at := leaveAt + 1
	out = append(out[:at:at], append(line, out[at:]...)...)
	mark = append(mark[:at:at], append(marks, mark[at:]...)...)
	return out, mark, true
}

// chipOff replaces the kernel by a small chip of about share of its outline.
func (k *grain) chipOff(share float64, g *rand.Rand) {
	area := share * Area(k.own)
	k.outline, k.chip = chipOutline(area, 1+0.9*g.Float64(), g), true
	k.fracture = make([]bool, len(k.outline))
	skin := g.Float64() * 2 * math.Pi // one side still carries pericarp
	for i, p := range k.outline {
		k.fracture[i] = dot(p, unit(skin)) < 0.25*math.Sqrt(area)
	}
	k.share = Area(k.outline) / Area(k.own)
	k.faceUp = chance(g, 0.55)
	_, small, _ := ferets(k.outline)
	k.t = math.Min(k.t, small*(0.45+0.45*g.Float64()))
}

// chipOutline is an irregular polygon of the given area (mm²) and aspect.
func chipOutline(area, aspect float64, g *rand.Rand) []XY {
	n := 6 + g.IntN(4)
	corner := make([]XY, n)
	for i := range corner {
		a := (float64(i) + 0.35*g.Float64()) / float64(n) * 2 * math.Pi
		corner[i] = scale(unit(a), 0.8+0.4*g.Float64())
		corner[i][0] *= aspect
	}
	k := math.Sqrt(area / Area(corner))
	var out []XY
	seed := g.Uint32()
	for i, a := range corner {
		b := corner[(i+1)%n]
		steps := max(2, int(dist(a, b)*k/0.25))
		for j := 0; j < steps; j++ {
			p := scale(add(a, scale(sub(b, a), float64(j)/float64(steps))), k)
			r := 1 + 0.06*fbm(p[0]*1.5, p[1]*1.5, seed, 2)
			out = append(out, scale(p, r))
		}
	}
	out = smoothed(out, 1)
	c := Centroid(out)
	f := math.Sqrt(area / Area(out))
	for i := range out {
		out[i] = scale(sub(out[i], c), f)
	}
	return out
}
