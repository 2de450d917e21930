package score

import (
	"gristmark/internal/estimate"
	"gristmark/internal/result"
)

// Ideal is what the estimates say of a scene when every piece is found, measured and named without
// fault: its errors are those of the models, its intervals the narrowest that the pieces allow.
func Ideal(t Truth, show string) *result.Sample {
	p := result.Photo{Status: result.Measured, Scale: &result.Scale{MMPerPx: t.MMPerPx}}
	for i, g := range t.Things {
		if !g.Small {
			p.Particles = append(p.Particles, g.particle(i+1))
		}
	}
	photos := []result.Photo{p}
	opt := estimate.Options{Show: show}
	estimate.Shares(photos, opt)
	return estimate.Sample(photos, opt)
}

// particle is the thing as a measurement without fault would state it.
func (g Thing) particle(id int) result.Particle {
	p := result.Particle{ID: id, Class: g.Class, Probability: 1, AtPx: g.AtPx, LengthMM: g.LengthMM, WidthMM: g.WidthMM, AreaMM2: g.AreaMM2,
		CutByEdge: g.Cut, MaxFeretMM: g.MaxFeretMM, MinFeretMM: g.MinFeretMM, OutlineMM: g.OutlineMM, Solidity: 1, CentreLineMM: g.LengthMM, Weight: 1}
	switch g.Class {
	case result.WholeKernel:
		p.PWhole = 1
	case result.BrokenKernel:
		p.PBroken = 1
	default:
		p.PStover = 1
	}
	return p
}
