package estimate

import (
	"math"

	"gristmark/internal/result"
)

func pieces(t *tallied, f [figures]figure, opt Options) *result.Pieces {
	out := &result.Pieces{}
	for _, s := range t.spreads {
		out.N += named(s, result.Stover)
	}
	if opt.Show == ShowKernels || f[logLength].units < fewestBySize || math.IsNaN(f[logLength].value) {
		return out
	}
	out.GeometricMeanMM = f[logLength].exp(opt.Level, fewestBySize)
	out.GeometricSD, out.LengthClassesPct = t.lengths()
	out.BoxPct = &result.BoxShares{
		Top:    *f[boxTop].share(opt.Level, 0),
		Middle: *f[boxMiddle].share(opt.Level, 0),
		Lower:  *f[boxLower].share(opt.Level, 0),
		Pan:    *f[boxPan].share(opt.Level, 0),
	}
	return out
}

// lengths gives the area-weighted geometric standard deviation of length and the length classes in percent of area.
func (t *tallied) lengths() (*float64, *result.LengthClasses) {
	mean := t.all[logLength].ratio()
	var square, area float64
	var c result.LengthClasses
	for _, s := range t.spreads {
		for _, p := range s.pieces {
			if !p.sized || p.length < t.model.smallestMM {
				continue
			}
			w := p.pStover * p.weight * p.area
			area += w
			square += w * math.Pow(math.Log(p.length)-mean, 2)
			*classOf(&c, p.length) += w
		}
	}
	gsd := math.Exp(math.Sqrt(square / area))
	for _, v := range []*float64{&c.Over19, &c.From8, &c.From4, &c.Under4} {
		*v *= 100 / area
	}
	return &gsd, &c
}

// classOf is the class of a length: from its lower bound on, up to but without its upper.
func classOf(c *result.LengthClasses, lengthMM float64) *float64 {
	switch {
	case lengthMM >= 19:
		return &c.Over19
	case lengthMM >= 8:
		return &c.From8
	case lengthMM >= 4:
		return &c.From4
	}
	return &c.Under4
}
