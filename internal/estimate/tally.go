package estimate

import (
	"math"

	"gristmark/internal/kernel"
)

// The figures that are ratios of sums.
const (
	wholeShare = iota
	passingShare
	boxTop
	boxMiddle
	boxLower
	boxPan
	logLength
	figures
)

// kernelFigures come first, those of stover after them.
const kernelFigures = boxTop

// term is what one particle, photo or sample puts into a ratio.
type term struct{ num, den float64 }

func (t term) ratio() float64 { return t.num / t.den }

type terms [figures]term

// The classes that a particle is drawn as.
const (
	asWhole = iota
	asBroken
	asStover
	classCount
)

// model holds all that turns sizes into terms.
type model struct {
	kernel     kernel.Model
	box        box
	smallestMM float64
}

func newModel(u kernel.Unbroken) model {
	return model{kernel: kernel.NewModel(u), box: newBox()}
}

// of is what the piece adds if it is of the class, every length multiplied by grow. Only the class's own figures are filled.
func (m model) of(p piece, class int, grow float64, out *terms) {
	*out = terms{}
	if class != asStover {
		m.ofKernel(p, class == asWhole, grow, out)
	} else if p.sized && p.length*grow >= m.smallestMM {
		m.ofStover(p, grow, out)
	}
}

func (m model) ofKernel(p piece, whole bool, grow float64, out *terms) {
	out[wholeShare].den = p.weight
	if whole {
		out[wholeShare].num = p.weight
	}
	if !p.sized || p.width*grow < m.smallestMM || !m.kernel.Kernel.Holds(p.length*grow, p.area*grow*grow) {
		return
	}
	mass := p.weight * m.kernel.MassMG(p.width*grow, p.area*grow*grow, whole)
	out[passingShare] = term{mass * m.kernel.PassingShare(p.width*grow, whole), mass}
}

func (m model) ofStover(p piece, grow float64, out *terms) {
	mass := p.weight * m.box.mass(p.area*grow*grow, p.length*grow, p.width*grow)
	for i, share := range m.box.shares(p.length*grow, p.width*grow) {
		out[boxTop+i] = term{mass * share, mass}
	}
	area := p.weight * p.area * grow * grow
	out[logLength] = term{area * math.Log(p.length*grow), area}
}

// doubts are the shared errors of the model, each moved by one standard deviation up (+1) or down (-1), and the figures it touches.
var doubts = []struct {
	kernel bool
	move   func(m *model, z float64)
}{
	{true, func(m *model, z float64) { m.kernel.Upright = z }},
	{true, func(m *model, z float64) { m.kernel.Thickness = z }},
	{true, func(m *model, z float64) { m.kernel.Blunt = z }},
	{false, func(m *model, z float64) { m.box.bridge *= math.Exp(z * bridgeSD) }},
	{false, func(m *model, z float64) { m.box.steepness *= math.Exp(z * steepnessSD) }},
	{false, func(m *model, z float64) { m.box.widen += z * massSD }},
	{false, func(m *model, z float64) { m.box.lengthen += z * massSD }},
}

// Standard deviations of what naming errs alike over all pieces of a sample, in the logarithm of the odds: 32 drawn scenes spread
// by so much more than their pieces' own chances explain. A hybrid, a light or a tray is not what the model was fitted with.
const (
	wholeOddsSD  = 0.75 // whole against broken, of what is a kernel
	kernelOddsSD = 0.85 // kernel against stover
)

// renamings move the odds of the classes of every piece by z standard deviations.
var renamings = []func(p piece, z float64) piece{
	func(p piece, z float64) piece {
		k := p.pWhole + p.pBroken
		p.pWhole, p.pBroken = shifted(p.pWhole, p.pBroken, z*wholeOddsSD)
		p.pWhole, p.pBroken = k*p.pWhole, k*p.pBroken
		return p
	},
	func(p piece, z float64) piece {
		k, s := shifted(p.pWhole+p.pBroken, p.pStover, z*kernelOddsSD)
		if was := p.pWhole + p.pBroken; was > 0 {
			p.pWhole, p.pBroken = p.pWhole*k/was, p.pBroken*k/was
		}
		p.pStover = s
		return p
	},
}

// shifted are two chances that sum to 1, in the proportion of a and b with the logarithm of the odds of a moved by d.
func shifted(a, b, d float64) (float64, float64) {
	if !(a+b > 0) {
		return a, b
	}
	a *= math.Exp(d)
	return a / (a + b), b / (a + b)
}

// renamed are the spreads with every piece renamed.
func renamed(spreads []spread, rename func(p piece, z float64) piece, z float64) []spread {
	out := make([]spread, len(spreads))
	for i, s := range spreads {
		out[i] = s
		out[i].pieces = make([]piece, len(s.pieces))
		for j, p := range s.pieces {
			out[i].pieces[j] = rename(p, z)
		}
	}
	return out
}

// sums are the expected terms of one spread.
func sums(m model, s spread, grow float64, kernels, stover bool) (out terms) {
	var t terms
	add := func(p piece, class int, probability float64) {
		if probability < 1e-6 {
			return
		}
		m.of(p, class, grow, &t)
		for f := range t {
			out[f].num += probability * t[f].num
			out[f].den += probability * t[f].den
		}
	}
	for _, p := range s.pieces {
		if kernels {
			add(p, asWhole, p.pWhole)
			add(p, asBroken, p.pBroken)
		}
		if stover {
			add(p, asStover, p.pStover)
		}
	}
	return out
}

// tallied is a sample added up: by class and particle for resampling, by spread for the spread between photos.
type tallied struct {
	model   model
	spreads []spread
	each    [][][classCount]terms // spread, particle, class
	by      []terms               // spread
	all     terms
	shared  [][figures]float64 // of each doubt: change of every ratio per standard deviation
	scale   [][figures]float64 // of each spread's scale
}

func tally(m model, spreads []spread) *tallied {
	t := &tallied{model: m, spreads: spreads}
	for _, s := range spreads {
		each := make([][classCount]terms, len(s.pieces))
		for i, p := range s.pieces {
			for class := range classCount {
				m.of(p, class, 1, &each[i][class])
			}
		}
		t.each = append(t.each, each)
		t.by = append(t.by, sums(m, s, 1, true, true))
	}
	t.all = total(t.by)
	t.addDoubts()
	return t
}

func total(by []terms) (out terms) {
	for _, s := range by {
		for f := range s {
			out[f].num += s[f].num
			out[f].den += s[f].den
		}
	}
	return out
}

// addDoubts takes central differences of every ratio over each shared doubt and each spread's scale.
func (t *tallied) addDoubts() {
	for _, d := range doubts {
		var ends [2]terms
		for i, z := range []float64{1, -1} {
			m := t.model
			d.move(&m, z)
			for _, s := range t.spreads {
				ends[i] = total([]terms{ends[i], sums(m, s, 1, d.kernel, !d.kernel)})
			}
		}
		t.shared = append(t.shared, slopes(ends[0], ends[1]))
	}
	for _, rename := range renamings {
		var ends [2]terms
		for i, z := range []float64{1, -1} {
			for _, s := range renamed(t.spreads, rename, z) {
				ends[i] = total([]terms{ends[i], sums(t.model, s, 1, true, true)})
			}
		}
		t.shared = append(t.shared, slopes(ends[0], ends[1]))
	}
	for j, s := range t.spreads {
		var ends [2]terms
		for i, z := range []float64{1, -1} {
			moved := sums(t.model, s, math.Exp(z*s.scaleSD), true, true)
			for f := range moved {
				ends[i][f].num = t.all[f].num - t.by[j][f].num + moved[f].num
				ends[i][f].den = t.all[f].den - t.by[j][f].den + moved[f].den
			}
		}
		t.scale = append(t.scale, slopes(ends[0], ends[1]))
	}
}

func slopes(up, down terms) (out [figures]float64) {
	for f := range out {
		if up[f].den > 0 && down[f].den > 0 {
			out[f] = (up[f].ratio() - down[f].ratio()) / 2
		}
	}
	return out
}
