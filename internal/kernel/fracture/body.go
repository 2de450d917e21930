package fracture

import (
	"cmp"
	"math"
	"slices"
)

// Vec is a point or direction in space.
type Vec [3]float64

// Dot is the scalar product.
func (a Vec) Dot(b Vec) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func (a Vec) sub(b Vec) Vec           { return Vec{a[0] - b[0], a[1] - b[1], a[2] - b[2]} }
func (a Vec) scale(f float64) Vec     { return Vec{a[0] * f, a[1] * f, a[2] * f} }
func (a Vec) add(b Vec) Vec           { return Vec{a[0] + b[0], a[1] + b[1], a[2] + b[2]} }
func (a Vec) unit() Vec               { return a.scale(1 / math.Sqrt(a.Dot(a))) }
func mix(a, b Vec, share float64) Vec { return a.scale(1 - share).add(b.scale(share)) }
func (a Vec) cross(b Vec) Vec {
	return Vec{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}

// Body is a convex polyhedron: faces as loops of corners, counter-clockwise from outside.
type Body struct {
	Faces [][]Vec
	Cuts  []Vec // outward normals of the faces that breaking made
}

// Kernel is a rounded box of the given full length, width and thickness, tapered in width and thickness
// towards the tip as a dent kernel is. Roundness is the exponent of the superellipsoid: 2 is an ellipsoid.
func Kernel(length, width, thickness, roundness, taper float64) Body {
	const rings, sides = 14, 24
	at := func(ring, side int) Vec {
		polar, turn := math.Pi*float64(ring)/rings, 2*math.Pi*float64(side)/sides
		d := Vec{math.Cos(polar), math.Sin(polar) * math.Cos(turn), math.Sin(polar) * math.Sin(turn)}
		r := math.Pow(math.Abs(d[0]), roundness) + math.Pow(math.Abs(d[1]), roundness) + math.Pow(math.Abs(d[2]), roundness)
		d = d.scale(math.Pow(r, -1/roundness))
		narrow := 1 / (1 + taper*d[0]) // a projective map: it keeps the body convex
		d = Vec{d[0] * narrow, d[1] * narrow, d[2] * narrow}
		return d
	}
	var b Body
	for ring := range rings {
		for side := range sides {
			p, q := at(ring, side), at(ring+1, side)
			q2, p2 := at(ring+1, side+1), at(ring, side+1)
			if ring < rings-1 {
				b.Faces = append(b.Faces, []Vec{p, q, q2})
			}
			if ring > 0 {
				b.Faces = append(b.Faces, []Vec{p, q2, p2})
			}
		}
	}
	return b.fit(length, width, thickness)
}

// fit scales the body along its axes to the given calliper sizes.
func (b Body) fit(size ...float64) Body {
	var low, high Vec
	for axis := range 3 {
		n := Vec{}
		n[axis] = 1
		low[axis], high[axis] = b.extent(n)
	}
	for _, f := range b.Faces {
		for i := range f {
			for axis := range 3 {
				f[i][axis] = (f[i][axis] - (low[axis]+high[axis])/2) * size[axis] / (high[axis] - low[axis])
			}
		}
	}
	return b
}

// extent is the range of the body along n.
func (b Body) extent(n Vec) (low, high float64) { return extentOf(b.corners(), n) }

func extentOf(corners []Vec, n Vec) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, v := range corners {
		d := n.Dot(v)
		low, high = min(low, d), max(high, d)
	}
	return low, high
}

// Volume in mm3 and centroid, by tetrahedra from the origin.
func (b Body) Volume() (volume float64, centroid Vec) {
	for _, f := range b.Faces {
		for i := 2; i < len(f); i++ {
			v := f[0].Dot(f[i-1].cross(f[i])) / 6
			volume += v
			centroid = centroid.add(f[0].add(f[i-1]).add(f[i]).scale(v / 4))
		}
	}
	if volume > 0 {
		centroid = centroid.scale(1 / volume)
	}
	return volume, centroid
}

// Below is the part of the body on the side n.v <= offset; no faces where nothing is left.
func (b Body) Below(n Vec, offset float64) Body {
	out := Body{Cuts: append(slices.Clone(b.Cuts), n)}
	var rim []Vec
	for _, f := range b.Faces {
		kept, cut := clip(f, n, offset)
		if len(kept) >= 3 {
			out.Faces = append(out.Faces, kept)
		}
		rim = append(rim, cut...)
	}
	if len(out.Faces) > 0 && len(rim) >= 3 {
		out.Faces = append(out.Faces, loop(rim, n))
	}
	return out
}

// clip keeps the part of a face below the plane, and returns where the plane crosses its edges.
func clip(face []Vec, n Vec, offset float64) (kept, crossing []Vec) {
	for i, v := range face {
		w := face[(i+1)%len(face)]
		dv, dw := n.Dot(v)-offset, n.Dot(w)-offset
		if dv <= 0 {
			kept = append(kept, v)
		}
		if (dv < 0 && dw > 0) || (dv > 0 && dw < 0) {
			p := mix(v, w, dv/(dv-dw))
			kept = append(kept, p)
			crossing = append(crossing, p)
		}
	}
	return kept, crossing
}

// loop orders the points of a convex cap counter-clockwise about its normal.
func loop(points []Vec, n Vec) []Vec {
	u, v := basis(n)
	var mid Vec
	for _, p := range points {
		mid = mid.add(p.scale(1 / float64(len(points))))
	}
	slices.SortFunc(points, func(a, b Vec) int {
		a, b = a.sub(mid), b.sub(mid)
		return cmp.Compare(math.Atan2(a.Dot(v), a.Dot(u)), math.Atan2(b.Dot(v), b.Dot(u)))
	})
	return points
}

// basis completes the unit vector n to a right-handed frame u, v, n.
func basis(n Vec) (u, v Vec) {
	axis := Vec{1, 0, 0}
	if math.Abs(n[0]) > 0.8 {
		axis = Vec{0, 1, 0}
	}
	u = axis.cross(n).unit()
	return u, n.cross(u)
}
