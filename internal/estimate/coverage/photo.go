package coverage

import (
	"math"
	"math/rand/v2"

	"gristmark/internal/result"
)

// Errors of a measured photo, all relative standard deviations of lengths.
const (
	scaleSD = 0.005
	sizeSD  = 0.012
)

// handful is one photo's worth of true pieces.
type handful struct {
	grains []grain
	straws []straw
}

func (l lot) handful(r *rand.Rand, kernels, straws int, spread float64) handful {
	return handful{
		draw(r, l.grains, kernels, spread*cut(r), func(g grain) float64 { return g.AreaMM2 }),
		draw(r, l.straws, straws, spread*cut(r), func(s straw) float64 { return s.length }),
	}
}

// measured is the photo as vision would hand it on: noisy sizes, one scale error, names by a score whose probabilities are calibrated.
func (h handful) measured(r *rand.Rand, name string, wholeShare float64) result.Photo {
	p := result.Photo{File: name, Status: result.Measured, Scale: &result.Scale{MMPerPx: 0.06, RelativeSD: scaleSD}}
	scale := math.Exp(scaleSD * r.NormFloat64())
	for _, g := range h.grains {
		e := scale * (1 + sizeSD*r.NormFloat64())
		q := result.Particle{LengthMM: g.LengthMM * e, WidthMM: g.WidthMM * e, AreaMM2: g.AreaMM2 * e * e, Weight: 1}
		q.PWhole = wholeChance(r, g.whole, wholeShare)
		q.PBroken = 1 - q.PWhole
		q.Class, q.Probability = result.BrokenKernel, q.PBroken
		if q.PWhole > 0.5 {
			q.Class, q.Probability = result.WholeKernel, q.PWhole
		}
		p.Particles = append(p.Particles, q)
	}
	for _, s := range h.straws {
		e := scale * (1 + sizeSD*r.NormFloat64())
		p.Particles = append(p.Particles, result.Particle{Class: result.Stover, Probability: 1, PStover: 1,
			LengthMM: s.length * e, WidthMM: s.width * e, AreaMM2: s.length * s.width * e * e, Weight: 1})
	}
	return p
}

// wholeChance is the probability of whole given a score that lies 4 standard deviations higher for whole kernels (Bayes).
func wholeChance(r *rand.Rand, whole bool, share float64) float64 {
	const apart = 4
	x := r.NormFloat64() - apart/2
	if whole {
		x += apart
	}
	share = min(max(share, 1e-3), 1-1e-3)
	return 1 / (1 + (1-share)/share*math.Exp(-apart*x))
}

// exact is the photo with true sizes and names.
func (h handful) exact(name string) result.Photo {
	p := result.Photo{File: name, Status: result.Measured, Scale: &result.Scale{MMPerPx: 0.06}}
	for _, g := range h.grains {
		q := result.Particle{Class: result.BrokenKernel, PBroken: 1, LengthMM: g.LengthMM, WidthMM: g.WidthMM, AreaMM2: g.AreaMM2}
		if g.whole {
			q.Class, q.PBroken, q.PWhole = result.WholeKernel, 0, 1
		}
		p.Particles = append(p.Particles, q)
	}
	for _, s := range h.straws {
		p.Particles = append(p.Particles, result.Particle{Class: result.Stover, PStover: 1, LengthMM: s.length, WidthMM: s.width, AreaMM2: s.length * s.width})
	}
	return p
}
