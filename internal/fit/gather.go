package main

import (
	"log"
	"path/filepath"

	"gristmark/internal/fit/gather"
	"gristmark/internal/scene"
	"gristmark/vision"
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

// pair names what each find truly is.
func pair(a *vision.Analysis, t scene.Truth, id int) []example {
	var out []example
	for _, q := range gather.Pair(a, t) {
		e := example{scene: id, x: a.Features[q.Find], class: q.ClassOf(), area: a.Particles[q.Find].AreaMM2}
		if q.Thing != nil && q.Thing.KeptShare != nil {
			e.kept = *q.Thing.KeptShare
		}
		out = append(out, e)
	}
	return out
}
