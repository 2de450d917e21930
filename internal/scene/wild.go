package scene

import "math/rand/v2"

// firstWild is the first seed of the wild scenes: away from those of the families.
const firstWild = 8_000_000_000

// Wild is the n-th scene in which everything that the families vary alone varies at once: any crop on any tray in any light by
// any camera. A network is fitted on such scenes so that it does not learn a family's company for a sign of the thing.
func Wild(n uint64) Scene {
	seed := firstWild + n
	g := stream(seed, streamWild)
	s := Default()
	s.Family = "wild"
	wildCamera(&s, g)
	wildTray(&s, g)
	wildLight(&s, g)
	wildPhoto(&s, g)
	wildLot(&s, g)
	wildPlace(&s, g)
	return Scene{Settings: s, Seed: seed}
}

func wildCamera(s *Settings, g *rand.Rand) {
	s.Camera.HeightMM, s.Camera.TiltDeg, s.Camera.BarrelPct = Range{170, 400}, Range{0, 25}, Range{-4, 2}
	s.Scale.Sheet = oneOf(g, []string{"card", "card", "card", "mat-a4", ""})
	if chance(g, 0.3) {
		s.Tray.WidthMM, s.Tray.HeightMM = Range{180, 650}, Range{150, 550}
	}
}

func wildTray(s *Settings, g *rand.Rand) {
	s.Tray.Kinds = []string{"navy", "black", "white", "grey", "green", "blue", "red", "wood", "wood", "metal", "paper", "cloth", "cardboard"}
	s.Tray.Texture, s.Tray.Gloss = Range{0.3, 2.5}, Range{0, 0.12}
	s.Tray.Fines = Range{0, sometimes(g, 0.3, 0.5)}
}

func wildLight(s *Settings, g *rand.Rand) {
	l := &s.Light
	l.Sources, l.ElevationDeg, l.Kelvin = Range{0.6, 2.4}, Range{20, 75}, Range{2900, 7500}
	l.Softness, l.Ambient, l.Gradient = Range{0.02, 0.9}, Range{0.12, 0.65}, Range{0, 0.5}
	l.BroadShadow, l.Flash, l.Wet = 0.25, 0.15, Range{0, sometimes(g, 0.5, 1)}
}

func wildPhoto(s *Settings, g *rand.Rand) {
	p := &s.Photo
	p.ExposureEV, p.Noise, p.Balance = Range{-1.2, 0.7}, Range{0.4, sometimes(g, 0.3, 9) + 1.5}, Range{-0.14, 0.14}
	p.DefocusPx, p.MotionPx = Range{0, sometimes(g, 0.25, 3) + 0.6}, Range{0, sometimes(g, 0.2, 5)}
	p.Sharpen, p.Quality, p.Vignette = Range{0, 1.2}, Range{55, 96}, Range{0, 0.45}
	p.Saturation, p.Contrast = Range{0.6, 1.45}, Range{0, 0.12}
}

func wildLot(s *Settings, g *rand.Rand) {
	l := &s.Lot
	l.Hybrid = oneOf(g, []string{"yellow", "yellow", "orange", "red", "white", "white", "mixed"})
	l.Mould = sometimes(g, 0.2, 0.9)
	s.VaryLot = chance(g, 0.7)
	if !s.VaryLot {
		l.WholeShare, l.NickShare, l.ShareMedian = 0.6*g.Float64(), 0.3*g.Float64(), 0.1+0.4*g.Float64()
		l.CutMM, l.Green = 8+24*g.Float64(), g.Float64()
	}
	m := &l.Stover
	for _, w := range []*float64{&m.Straw, &m.Stalk, &m.Leaf, &m.Husk, &m.Cob} {
		*w = 0.02 + sometimes(g, 0.6, 1)
	}
}

func wildPlace(s *Settings, g *rand.Rand) {
	p := &s.Place
	p.Kernels, p.Pieces = Range{0, 60 + sometimes(g, 0.6, 130)}, Range{0, 30 + sometimes(g, 0.6, 110)}
	p.GapMM, p.Spread = 0.3+1.2*g.Float64(), 0.7+0.5*g.Float64()
	p.TouchShare, p.CrossShare = Range{0, sometimes(g, 0.7, 0.9)}, Range{0, sometimes(g, 0.6, 0.6)}
	e := &s.Extras
	e.Pen, e.Finger = Range{0, sometimes(g, 0.2, 1)}, Range{0, sometimes(g, 0.2, 1)}
	e.Crumbs, e.Stones = Range{0, sometimes(g, 0.35, 50)}, Range{0, sometimes(g, 0.35, 12)}
	e.Hairs, e.Drops = Range{0, sometimes(g, 0.25, 3)}, Range{0, sometimes(g, 0.3, 60)}
}

// sometimes is 0, or with chance p a value up to most.
func sometimes(g *rand.Rand, p, most float64) float64 {
	if !chance(g, p) {
		return 0
	}
	return most * g.Float64()
}
