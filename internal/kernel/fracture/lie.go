package fracture

import (
	"math"
	"slices"
)

// MeshMM is the side of the square mesh of the processing score.
const MeshMM = 4.75

// directions covers a half sphere evenly (Fibonacci lattice).
var directions = func() []Vec {
	const n = 220
	out := make([]Vec, n)
	for i := range out {
		z := (float64(i) + 0.5) / n
		turn := math.Pi * (3 - math.Sqrt(5)) * float64(i)
		s := math.Sqrt(1 - z*z)
		out[i] = Vec{s * math.Cos(turn), s * math.Sin(turn), z}
	}
	return out
}()

// Lie lays the body on its flattest side (the direction of least height) and looks at it from above.
func (b Body) Lie(share float64) Piece {
	corners := b.corners()
	up, height := Vec{}, math.Inf(1)
	for _, n := range append(slices.Clone(b.Cuts), directions...) {
		if low, high := extentOf(corners, n); high-low < height {
			up, height = n, high-low
		}
	}
	outline := hull(shadow(corners, up))
	volume, _ := b.Volume()
	p := Piece{ThicknessMM: height, VolumeMM3: volume, Share: share, AreaMM2: area(outline)}
	p.LengthMM, p.WidthMM = ferets(outline)
	p.Passes475 = passes(corners, MeshMM)
	return p
}

// passes tries to push the body straight through a square hole along each direction, turned about it in steps of 3 degrees.
func passes(corners []Vec, side float64) bool {
	for _, n := range directions {
		shadow := hull(shadow(corners, n))
		for turn := 0; turn < 90; turn += 3 {
			s, c := math.Sincos(float64(turn) * math.Pi / 180)
			if spread(shadow, c, s) <= side && spread(shadow, -s, c) <= side {
				return true
			}
		}
	}
	return false
}

type point [2]float64

// corners are the body's corners, each once.
func (b Body) corners() []Vec {
	seen, out := map[Vec]bool{}, []Vec(nil)
	for _, f := range b.Faces {
		for _, p := range f {
			if !seen[p] {
				seen[p] = true
				out = append(out, p)
			}
		}
	}
	return out
}

// shadow is the corners projected along n.
func shadow(corners []Vec, n Vec) []point {
	u, v := basis(n)
	out := make([]point, len(corners))
	for i, p := range corners {
		out[i] = point{p.Dot(u), p.Dot(v)}
	}
	return out
}

// hull is the convex hull by Andrew's monotone chain, counter-clockwise.
func hull(points []point) []point {
	slices.SortFunc(points, func(a, b point) int { return slices.Compare(a[:], b[:]) })
	turn := func(o, a, b point) float64 {
		return (a[0]-o[0])*(b[1]-o[1]) - (a[1]-o[1])*(b[0]-o[0])
	}
	var out []point
	for pass := range 2 {
		floor := len(out) + 1
		for i := range points {
			p := points[i]
			if pass == 1 {
				p = points[len(points)-1-i]
			}
			for len(out) > floor && turn(out[len(out)-2], out[len(out)-1], p) <= 0 {
				out = out[:len(out)-1]
			}
			out = append(out, p)
		}
		out = out[:len(out)-1]
	}
	return out
}

func area(outline []point) float64 {
	sum := 0.0
	for i, p := range outline {
		q := outline[(i+1)%len(outline)]
		sum += p[0]*q[1] - p[1]*q[0]
	}
	return sum / 2
}

// spread is the extent of the points along (c, s).
func spread(points []point, c, s float64) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range points {
		d := p[0]*c + p[1]*s
		low, high = min(low, d), max(high, d)
	}
	return high - low
}

// ferets are the largest and smallest calliper diameters: the largest between corners, the smallest across an edge.
func ferets(outline []point) (largest, smallest float64) {
	smallest = math.Inf(1)
	for i, p := range outline {
		q := outline[(i+1)%len(outline)]
		for _, o := range outline {
			largest = max(largest, math.Hypot(p[0]-o[0], p[1]-o[1]))
		}
		if l := math.Hypot(q[0]-p[0], q[1]-p[1]); l > 1e-9 {
			smallest = min(smallest, spread(outline, -(q[1]-p[1])/l, (q[0]-p[0])/l))
		}
	}
	return largest, smallest
}
