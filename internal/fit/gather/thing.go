package gather

import (
	"math"

	"gristmark/internal/result"
	"gristmark/internal/scene"
	"gristmark/vision"
	"gristmark/vision/shape"
)

// Look analyses the scene's photo on its true plane, the ruler's sheet left out.
func (s *Opened) Look(opt vision.Options) (*vision.Analysis, error) {
	opt.Exclude = s.Plane.Sheet(s.Truth)
	return vision.Analyse(s.Photo, s.Plane, opt)
}

// ThingOf is the first of the things for which fits holds that has the find's centroid in it and about its area.
func ThingOf(p result.Particle, things []scene.Thing, fits func(scene.Thing) bool) (g scene.Thing, ok bool) {
	seen := math.Abs(shape.Area(p.OutlinePx))
	for _, g := range things {
		area := math.Abs(shape.Area(g.OutlinePx))
		if fits(g) && seen >= 0.75*area && seen <= 1.33*area && shape.Contains(g.OutlinePx, p.AtPx) {
			return g, true
		}
	}
	return g, false
}
