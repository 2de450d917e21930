package main

import (
	"gristmark/internal/fit/gather"
	"gristmark/internal/scene"
	"gristmark/vision"
)

// example is a piece that was found: its features, and the errors of its area.
type example struct {
	scene int
	kind  string
	x     []float32
	off   gather.Areas
}

func examplesOf(file string, id int) ([]example, error) {
	s, err := gather.Open(file)
	if s == nil || err != nil {
		return nil, err
	}
	defer s.Photo.Close()
	a, err := s.Look(vision.DefaultOptions())
	if err != nil {
		return nil, err
	}
	var out []example
	for i, p := range a.Particles {
		g, ok := gather.ThingOf(p, s.Truth.Things, func(g scene.Thing) bool { return g.HiddenShare == 0 && !g.CutByEdge })
		if !ok || p.CutByEdge {
			continue
		}
		e := example{scene: id, kind: g.Kind, off: gather.AreasOf(p, &g, s), x: make([]float32, len(a.Features[i]))}
		for k, v := range a.Features[i] {
			e.x[k] = float32(v)
		}
		out = append(out, e)
	}
	return out, nil
}
