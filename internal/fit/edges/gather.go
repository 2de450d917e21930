package main

import (
	"math"
	"math/rand/v2"

	"gristmark/internal/fit/gather"
	"gristmark/internal/result"
	"gristmark/internal/scene"
	"gristmark/vision"
	"gristmark/vision/shape"
)

// Limits of what is learned from.
const (
	mostOffPx   = 2.5  // photo px from the point to the true edge
	leastFacing = 0.5  // cosine between the outline's normal and the true one
	mostHidden  = 0.02 // share of a thing under others
	perScene    = 3000 // points
)

// example is a point of an outline: what is seen across it, and how far out the true edge lies, photo px.
type example struct {
	scene int
	x     []float32
	off   float32
}

func examplesOf(file string, id int) ([]example, error) {
	s, err := gather.Open(file)
	if s == nil || err != nil {
		return nil, err
	}
	defer s.Photo.Close()
	edges := edgesOf(s.Truth)
	var out []example
	opt := vision.DefaultOptions()
	opt.ProbeEdge = func(f []float64, at, outward result.XY) {
		off, ok := edges.off(at, outward)
		if !ok {
			return
		}
		x := make([]float32, len(f))
		for k, v := range f {
			x[k] = float32(v)
		}
		out = append(out, example{id, x, float32(off)})
	}
	if _, err := s.Look(opt); err != nil {
		return nil, err
	}
	rand.New(rand.NewPCG(uint64(id), 3)).Shuffle(len(out), func(i, j int) { out[i], out[j] = out[j], out[i] })
	return out[:min(len(out), perScene)], nil
}

// trueEdges are the outlines of a scene's things that nothing hides, in cells of cellPx.
type trueEdges map[[2]int][]edge

// edge is a piece of a true outline, photo px, clockwise.
type edge struct{ a, b result.XY }

const cellPx = 16

func edgesOf(t scene.Truth) trueEdges {
	cells := trueEdges{}
	for _, g := range t.Things {
		if g.HiddenShare > mostHidden || g.CutByEdge {
			continue
		}
		line := g.OutlinePx
		flip := shape.Area(line) < 0
		for i := range line {
			a, b := line[i], line[(i+1)%len(line)]
			if flip {
				a, b = b, a
			}
			cells.add(edge{a, b})
		}
	}
	return cells
}

func (c trueEdges) add(e edge) {
	seen := map[[2]int]bool{}
	n := int(math.Hypot(e.b[0]-e.a[0], e.b[1]-e.a[1])/4) + 1
	for k := 0; k <= n; k++ {
		t := float64(k) / float64(n)
		x, y := e.a[0]+t*(e.b[0]-e.a[0]), e.a[1]+t*(e.b[1]-e.a[1])
		key := [2]int{int(x) / cellPx, int(y) / cellPx}
		if !seen[key] {
			seen[key] = true
			c[key] = append(c[key], e)
		}
	}
}

// off is how many times outward the nearest true edge that faces the same way lies from at.
func (c trueEdges) off(at, outward result.XY) (best float64, ok bool) {
	best = mostOffPx
	cx, cy := int(at[0])/cellPx, int(at[1])/cellPx
	length := math.Hypot(outward[0], outward[1])
	for y := cy - 1; y <= cy+1; y++ {
		for x := cx - 1; x <= cx+1; x++ {
			for _, e := range c[[2]int{x, y}] {
				dx, dy := e.b[0]-e.a[0], e.b[1]-e.a[1]
				l := math.Hypot(dx, dy)
				if l == 0 || (dy*outward[0]-dx*outward[1])/l/length < leastFacing {
					continue
				}
				// at + t outward = a + u (b - a)
				det := -outward[0]*dy + outward[1]*dx
				rx, ry := e.a[0]-at[0], e.a[1]-at[1]
				t := (-rx*dy + ry*dx) / det
				u := (outward[0]*ry - outward[1]*rx) / det
				if u >= -1e-6 && u <= 1+1e-6 && math.Abs(t) < math.Abs(best) {
					best, ok = t, true
				}
			}
		}
	}
	return best, ok
}
