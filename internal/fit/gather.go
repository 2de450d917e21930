package main

import (
	"log"
	"path/filepath"

	"gristmark/internal/fit/gather"
	"gristmark/internal/result"
	"gristmark/internal/scene"
	"gristmark/vision"
	"gristmark/vision/shape"
)

// example is a piece that was found, with what it truly is: 0 whole kernel, 1 broken, 2 stover,
// 3 nothing of the crop.
type example struct {
	scene int
	x     []float64
	class int
	kept  float64 // share of its own outline that a kernel keeps
	area  float64
}

func gatherAll(dir string) ([]example, int, error) {
	all, n, err := gather.Scenes(dir, examplesOf)
	if err != nil {
		return nil, 0, err
	}
	return append(all, realExamples(n)...), n, nil
}

func examplesOf(file string, id int) ([]example, error) {
	s, err := gather.Open(file)
	if s == nil || err != nil {
		return nil, err
	}
	defer s.Photo.Close()
	opt := vision.DefaultOptions()
	opt.KeepAll = true
	a, err := s.Look(opt)
	if err != nil {
		return nil, err
	}
	out := pair(a, s.Truth, id)
	log.Printf("%s: %d found, %d true, %d paired %s", filepath.Base(file), len(a.Particles), len(s.Truth.Things), len(out), a.Problem)
	return out, nil
}

// pair joins what was found to the thing that holds its centroid and has about its area.
func pair(a *vision.Analysis, t scene.Truth, id int) []example {
	var out []example
	for i, p := range a.Particles {
		if nothing(p, t) {
			out = append(out, example{scene: id, x: a.Features[i], class: 3, area: p.AreaMM2})
			continue
		}
		if p.CutByEdge {
			continue
		}
		if g, ok := gather.ThingOf(p, t.Things, func(scene.Thing) bool { return true }); ok {
			e := example{scene: id, x: a.Features[i], class: classOf(g.Class), area: p.AreaMM2}
			if g.KeptShare != nil {
				e.kept = *g.KeptShare
			}
			out = append(out, e)
		}
	}
	return out
}

func classOf(c result.Class) int {
	switch c {
	case result.WholeKernel:
		return 0
	case result.BrokenKernel:
		return 1
	}
	return 2
}

// nothing tells whether a piece that was found has nothing to do with any true one.
func nothing(p result.Particle, t scene.Truth) bool {
	for _, g := range t.Things {
		if shape.Contains(g.OutlinePx, p.AtPx) || shape.Contains(p.OutlinePx, g.AtPx) {
			return false
		}
		for k := 0; k < len(p.OutlinePx); k += 4 {
			if shape.Contains(g.OutlinePx, p.OutlinePx[k]) {
				return false
			}
		}
	}
	return true
}
