package main

import (
	"math"

	"gristmark/internal/fit/gather"
	"gristmark/internal/result"
	"gristmark/internal/scene"
	"gristmark/vision"
	"gristmark/vision/shape"
)

// triedMM are heights at which a piece's area is worked out; between them it is interpolated.
var triedMM = [...]float64{0, 0.15, 0.3, 0.5, 0.8, 1.2, 1.8, 2.6, 3.6, 5, 7, 10, 14}

// example is a piece that was found: its features, and by how much the log of its area is too large when it is taken to have one of the heights tried.
type example struct {
	scene int
	kind  string
	x     []float32
	off   [len(triedMM)]float64
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
		e := example{scene: id, kind: g.Kind, x: make([]float32, len(a.Features[i]))}
		for k, v := range a.Features[i] {
			e.x[k] = float32(v)
		}
		seen := onPlane(p.OutlinePx, s)
		for k, t := range triedMM {
			o := vision.BodyOf(p).FromAbove(seen, s.Truth.Camera.FootMM, s.Truth.Camera.HeightMM, t)
			e.off[k] = math.Log(math.Abs(shape.Area(o)) / g.AreaMM2)
		}
		out = append(out, e)
	}
	return out, nil
}

// onPlane is an outline of the photo on the tray plane, mm, the lens's radial term undone.
func onPlane(px []result.XY, s *gather.Opened) []result.XY {
	c := s.Truth.Camera
	middle := result.XY{float64(s.Truth.WidthPx) / 2, float64(s.Truth.HeightPx) / 2}
	out := make([]result.XY, len(px))
	for i, p := range px {
		far := result.XY{(p[0] - middle[0]) / c.FocalPx, (p[1] - middle[1]) / c.FocalPx}
		q := far
		for range 6 { // the term is small: each round is a few hundredths of the last
			f := 1 + c.K1*(q[0]*q[0]+q[1]*q[1])
			q = result.XY{far[0] / f, far[1] / f}
		}
		out[i] = s.Plane.ToMM(result.XY{middle[0] + q[0]*c.FocalPx, middle[1] + q[1]*c.FocalPx})
	}
	return out
}
