package gather

import (
	"math"

	"gristmark/internal/result"
	"gristmark/internal/scene"
	"gristmark/vision"
	"gristmark/vision/shape"
)

// TriedMM are heights at which a piece's area is worked out; between them it is interpolated.
var TriedMM = [...]float64{0, 0.15, 0.3, 0.5, 0.8, 1.2, 1.8, 2.6, 3.6, 5, 7, 10, 14}

// Areas is by how much the log of a piece's area is too large when it is taken to have each of the heights tried.
type Areas [len(TriedMM)]float64

// AreasOf is that of a find which is the thing g of the scene, by how much the log of the area inside its outline in the photo is too large, and the
// share by which that area grows for each mm that the outline moves outward.
func AreasOf(p result.Particle, g *scene.Thing, s *Opened) (perMM, drawn float64, off Areas) {
	seen := onPlane(p.OutlinePx, s)
	area := math.Abs(shape.Area(seen))
	perMM, drawn = shape.Perimeter(seen)/area, math.Log(area/math.Abs(shape.Area(onPlane(g.OutlinePx, s))))
	for k, t := range TriedMM {
		o := vision.BodyOf(p).FromAbove(seen, s.Truth.Camera.FootMM, s.Truth.Camera.HeightMM, t)
		off[k] = math.Log(math.Abs(shape.Area(o)) / g.AreaMM2)
	}
	return perMM, drawn, off
}

// onPlane is an outline of the photo on the tray plane, mm, the lens's radial term undone.
func onPlane(px []result.XY, s *Opened) []result.XY {
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
