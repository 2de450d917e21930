package main

import (
	"gristmark/internal/fit/gather"
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
	return gather.Named(file, func(q gather.Pairing, a *vision.Analysis, _ *gather.Opened) example {
		return example{scene: id, x: a.Features[q.Find], class: q.ClassOf(), kept: q.Kept(), area: a.Particles[q.Find].AreaMM2}
	})
}
