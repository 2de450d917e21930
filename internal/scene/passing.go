package scene

import "math"

// passesSquare decides whether a rounded plate (plan outline, thickness t, edge radius r, mm) can be turned to fall
// through a square hole of the given side. It looks along 25 directions within 18° (plan) and
// 29° (tilt) of the axis across which the piece is narrowest, and asks for the smallest upright square round the projected points, over all turns of the square.
// Points: the outline at half height and the outline drawn in by r(1-1/√2) and by r at ±t·sin(45°)/2 and ±t/2.
func passesSquare(outline []XY, t, r, hole float64) bool {
	_, small, _ := ferets(outline)
	if small <= hole && t <= hole {
		return true
	}
	// The narrowest view is at least as wide as min(small, t) less the rounded corners.
	if math.Min(small, t) > hole*math.Sqrt2 || small > 1.9*hole {
		return false
	}
	pts := shellPoints(outline, t, r)
	long := narrowest(outline)
	for a := -2; a <= 2; a++ {
		u := rotate(long, math.Cos(float64(a)*0.16), math.Sin(float64(a)*0.16))
		for _, tilt := range []float64{0, 0.25, -0.25, 0.5, -0.5} {
			if squareRound(pts, u, tilt) <= hole {
				return true
			}
		}
	}
	return false
}

var passTurns = fan(12, math.Pi/24)

func fan(n int, step float64) []XY {
	out := make([]XY, n)
	for i := range out {
		out[i] = unit(float64(i) * step)
	}
	return out
}

func shellPoints(outline []XY, t, r float64) [][3]float64 {
	var pts [][3]float64
	stepIdx := max(1, len(outline)/24)
	c := Centroid(outline)
	for i := 0; i < len(outline); i += stepIdx {
		p := outline[i]
		d := sub(c, p)
		n := math.Max(1e-9, math.Hypot(d[0], d[1]))
		for _, ring := range [][2]float64{{0, 0}, {1 - math.Sqrt2/2, math.Sqrt2 / 2}, {1, 1}} {
			q := add(p, scale(d, math.Min(1, ring[0]*r/n)))
			pts = append(pts, [3]float64{q[0], q[1], ring[1] * t / 2}, [3]float64{q[0], q[1], -ring[1] * t / 2})
		}
	}
	return pts
}

// squareRound is the side of the smallest square round the points seen along u, tilted out of the plan.
func squareRound(pts [][3]float64, u XY, tilt float64) float64 {
	c, s := math.Cos(tilt), math.Sin(tilt)
	flat := make([]XY, len(pts))
	for i, p := range pts {
		along := p[0]*u[0] + p[1]*u[1]
		flat[i] = XY{-p[0]*u[1] + p[1]*u[0], p[2]*c - along*s}
	}
	best := math.Inf(1)
	for k := 0; k < 12; k++ {
		w, l := extents(flat, passTurns[k])
		best = math.Min(best, math.Max(w, l))
	}
	return best
}
