package shape

import (
	"math"
	"slices"
)

// Circularity is √(4πA/P²) of ISO 9276-6, 1 for a disc and less for all else. Texts on image analysis
// often give that name to its square, here FormFactor.
func Circularity(area, perimeter float64) float64 { return math.Sqrt(FormFactor(area, perimeter)) }

// FormFactor is 4πA/P² of ISO 9276-6, 0..1.
func FormFactor(area, perimeter float64) float64 {
	if !(perimeter > 0) {
		return 0
	}
	return 4 * math.Pi * math.Abs(area) / (perimeter * perimeter)
}

// Geodesic is the length L and thickness E of the rectangle, bent or straight, with this area and
// perimeter: A = L·E, P = 2(L+E) (ISO 9276-6). A figure rounder than any rectangle (P² < 16A) gets the
// square's side for both.
func Geodesic(area, perimeter float64) (length, thickness float64) {
	area = math.Abs(area)
	q := perimeter * perimeter / 4
	if !(q > 4*area) {
		s := math.Sqrt(area)
		return s, s
	}
	length = (perimeter/2 + math.Sqrt(q-4*area)) / 2
	return length, area / length
}

// Bending is 1 - chord/length of a centreline: 0 when straight, 1 - 2/π ≈ 0.36 for a half circle, 1
// when the ends meet.
func Bending(line []XY) float64 {
	l := Length(line)
	if !(l > 0) {
		return 0
	}
	return max(0, 1-dist(line[0], line[len(line)-1])/l)
}

// Defect is a bay between the outline and its convex hull.
type Defect struct {
	From, To XY      // the ends of the hull edge that bridges the bay
	Deepest  XY      // the outline's point farthest from that edge
	Depth    float64 // its distance from the edge, > 0
}

// Defects are the bays that are deeper than depth, deepest first.
func Defects(outline []XY, depth float64) []Defect {
	at := hullIndices(outline)
	n := len(outline)
	var out []Defect
	for i, from := range at {
		to := at[(i+1)%len(at)]
		a, u := outline[from], unit(sub(outline[to], outline[from]))
		d := Defect{From: a, To: outline[to]}
		for k := (from + 1) % n; k != to; k = (k + 1) % n {
			if h := math.Abs(cross(u, sub(outline[k], a))); h > d.Depth {
				d.Depth, d.Deepest = h, outline[k]
			}
		}
		if d.Depth > depth {
			out = append(out, d)
		}
	}
	slices.SortStableFunc(out, func(a, b Defect) int { return compareDown(a.Depth, b.Depth) })
	return out
}

// hullIndices are the positions in the outline of its hull's vertices, in the outline's own order.
func hullIndices(outline []XY) []int {
	h := ConvexHull(outline)
	if len(h) < 3 {
		return nil
	}
	first := make(map[XY]bool, len(h))
	for _, p := range h {
		first[p] = true
	}
	at := make([]int, 0, len(h))
	for i, p := range outline {
		if first[p] {
			at = append(at, i)
			delete(first, p)
		}
	}
	return at
}

func compareDown(a, b float64) int {
	switch {
	case a > b:
		return -1
	case a < b:
		return 1
	}
	return 0
}

// RadialProfile is the distance from the centroid to the farthest point of the outline along n
// directions, the first along x, turning towards y. 0 where the outline has no point that way.
func RadialProfile(outline []XY, n int) []float64 {
	if n <= 0 {
		return nil
	}
	out := make([]float64, n)
	c := Centroid(outline)
	step := 2 * math.Pi / float64(n)
	for i := range outline {
		a, b := sub(outline[i], c), sub(outline[(i+1)%len(outline)], c)
		t0, t1 := math.Atan2(a[1], a[0]), math.Atan2(b[1], b[0])
		t1 = t0 + math.Remainder(t1-t0, 2*math.Pi)
		if t1 < t0 {
			t0, t1 = t1, t0
		}
		if !(t1-t0 < 2*math.Pi) { // not a number
			continue
		}
		for k := int(math.Ceil(t0 / step)); float64(k)*step <= t1; k++ {
			s, co := math.Sincos(float64(k) * step)
			at := ((k % n) + n) % n
			out[at] = max(out[at], alongRay(XY{co, s}, a, b))
		}
	}
	return out
}

// alongRay is the distance from the origin along the unit vector u to the segment ab.
func alongRay(u, a, b XY) float64 {
	e := sub(b, a)
	den := cross(u, e)
	if den == 0 {
		return max(dot(u, a), dot(u, b), 0)
	}
	return max(cross(a, e)/den, 0)
}

// RadialSpread is the standard deviation of a radial profile over its mean: 0 for a disc.
func RadialSpread(profile []float64) float64 {
	var s, q float64
	for _, r := range profile {
		s += r
		q += r * r
	}
	n := float64(len(profile))
	if !(s > 0) {
		return 0
	}
	m := s / n
	return math.Sqrt(max(q/n-m*m, 0)) / m
}
