package shape

import (
	"math"
	"slices"
)

// Hull is a convex outline, positively oriented, without repeated points or points inside an edge.
type Hull []XY

// usualHull is how many points most hulls have at most, on their way.
const usualHull = 64

// ConvexHull is the smallest convex outline round the points (Andrew 1979, Inf. Process. Lett. 9:216).
func ConvexHull(points []XY) Hull {
	p := slices.Compact(byPlace(points))
	if len(p) < 3 {
		return p
	}
	h := make(Hull, 0, usualHull)
	for _, q := range p {
		h = push(h, q, 2)
	}
	floor := len(h) + 1
	for i := len(p) - 2; i >= 0; i-- {
		h = push(h, p[i], floor)
	}
	return apart(h[:len(h)-1])
}

// apart drops vertices that rounding cannot tell from the one before, on which calipers would stick.
func apart(h Hull) Hull {
	lo, hi := Bounds(h)
	least := 1e-12 * dist(lo, hi)
	out := h[:1]
	for _, p := range h[1:] {
		if !(dist(p, out[len(out)-1]) <= least) {
			out = append(out, p)
		}
	}
	if len(out) > 1 && dist(out[0], out[len(out)-1]) <= least {
		out = out[:len(out)-1]
	}
	return out
}

// push adds q after dropping what no longer turns left, down to floor-1 points.
func push(h Hull, q XY, floor int) Hull {
	n := len(h)
	for n >= floor {
		a, b := &h[n-2], &h[n-1]
		if (b[0]-a[0])*(q[1]-b[1])-(b[1]-a[1])*(q[0]-b[0]) > 0 {
			break
		}
		n--
	}
	return append(h[:n], q)
}

// Solidity is the area over that of the convex hull, 0..1 (ISO 9276-6); 0 where the hull has no area.
func Solidity(outline []XY) float64 {
	return solidity(Area(outline), ConvexHull(outline))
}

// Solidity is an outline's area over that of its hull h.
func (h Hull) Solidity(area float64) float64 { return solidity(area, h) }

func solidity(area float64, h Hull) float64 {
	a := Area(h)
	if !(a > 0) {
		return 0
	}
	return min(math.Abs(area)/a, 1)
}

// Feret is a caliper diameter.
type Feret struct {
	Length float64 // between the two parallel tangents
	Angle  float64 // of the measured line, across the tangents, -π/2 < Angle <= π/2
}

// MaxFeret is the largest caliper diameter of the points: the distance of the two farthest ones.
func MaxFeret(points []XY) Feret { return ConvexHull(points).MaxFeret() }

// MinFeret is the smallest caliper diameter of the points.
func MinFeret(points []XY) Feret { return ConvexHull(points).MinFeret() }

// MaxFeret is the hull's largest caliper diameter, by rotating calipers (Shamos 1978).
func (h Hull) MaxFeret() (f Feret) {
	if len(h) == 2 {
		d := sub(h[1], h[0])
		return Feret{norm(d), halfTurn(math.Atan2(d[1], d[0]))}
	}
	best := XY{}
	h.calipers(func(i, j, k int) {
		for _, d := range [2]XY{sub(h[k], h[i]), sub(h[k], h[j])} {
			if dot(d, d) > dot(best, best) {
				best = d
			}
		}
	})
	if best == (XY{}) {
		return Feret{}
	}
	return Feret{norm(best), halfTurn(math.Atan2(best[1], best[0]))}
}

// MinFeret is the hull's smallest caliper diameter; one tangent always lies along an edge
// (Houle & Toussaint 1988, IEEE PAMI 10:761).
func (h Hull) MinFeret() Feret {
	if len(h) < 3 {
		f := h.MaxFeret()
		return Feret{0, halfTurn(f.Angle + math.Pi/2)}
	}
	best := Feret{Length: math.Inf(1)}
	h.calipers(func(i, j, k int) {
		u := unit(sub(h[j], h[i]))
		if w := cross(u, sub(h[k], h[i])); w < best.Length {
			best = Feret{w, math.Atan2(u[0], -u[1])}
		}
	})
	best.Length, best.Angle = max(best.Length, 0), halfTurn(best.Angle)
	return best
}

// calipers calls f for each edge i→j with k, the vertex farthest from it, and where an edge is
// parallel with both of its ends.
func (h Hull) calipers(f func(i, j, k int)) {
	n := len(h)
	if n < 3 {
		return
	}
	k := 1
	for i := range h {
		j := (i + 1) % n
		e := sub(h[j], h[i])
		next := (k + 1) % n
		for range n {
			if !(cross(e, sub(h[next], h[k])) > 0) {
				break
			}
			k, next = next, (next+1)%n
		}
		f(i, j, k)
		if cross(e, sub(h[next], h[k])) == 0 {
			f(i, j, next)
		}
	}
}

// Width is the hull's caliper diameter measured along the angle.
func (h Hull) Width(angle float64) float64 {
	s, c := math.Sincos(angle)
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range h {
		d := p[0]*c + p[1]*s
		lo, hi = min(lo, d), max(hi, d)
	}
	return max(hi-lo, 0)
}

// MeanFeret is the caliper diameter averaged over all directions: the hull's perimeter over π (Cauchy).
func MeanFeret(points []XY) float64 { return Perimeter(ConvexHull(points)) / math.Pi }

// Rect is a rectangle in any position.
type Rect struct {
	Length, Width float64 // Length >= Width >= 0
	Angle         float64 // of the long side, -π/2 < Angle <= π/2
	Centre        XY
}

// MinAreaRect is the rectangle of least area round the points; it has a side along an edge of the hull
// (Freeman & Shapira 1975, Commun. ACM 18:409).
func MinAreaRect(points []XY) Rect { return ConvexHull(points).MinAreaRect() }

// MinAreaRect is the rectangle of least area round the hull.
func (h Hull) MinAreaRect() Rect {
	switch len(h) {
	case 0:
		return Rect{}
	case 1, 2:
		f := h.MaxFeret()
		return Rect{f.Length, 0, f.Angle, lerp(h[0], h[len(h)-1], 0.5)}
	}
	n, best, bestArea := len(h), Rect{}, math.Inf(1)
	l, r, t := 0, 1, 1 // least and greatest along the edge, farthest across it
	for i := range h {
		u := unit(sub(h[(i+1)%n], h[i]))
		v := XY{-u[1], u[0]}
		r, t = climb(h, r, u), climb(h, t, v)
		if i == 0 {
			l = t
		}
		l = climb(h, l, mul(u, -1))
		w, d := max(dot(u, sub(h[r], h[l])), 0), max(dot(v, sub(h[t], h[i])), 0)
		if a := w * d; a < bestArea {
			bestArea = a
			x, y := (dot(u, h[r])+dot(u, h[l]))/2, (dot(v, h[t])+dot(v, h[i]))/2
			c := XY{x*u[0] + y*v[0], x*u[1] + y*v[1]}
			best = Rect{w, d, math.Atan2(u[1], u[0]), c}
		}
	}
	return best.landscape()
}

// climb walks forward from vertex k while the next one lies farther along u.
func climb(h Hull, k int, u XY) int {
	for range h {
		next := (k + 1) % len(h)
		if !(dot(u, sub(h[next], h[k])) > 0) {
			break
		}
		k = next
	}
	return k
}

func (r Rect) landscape() Rect {
	if r.Width > r.Length {
		r.Length, r.Width, r.Angle = r.Width, r.Length, r.Angle+math.Pi/2
	}
	r.Angle = halfTurn(r.Angle)
	return r
}

// Corners are the rectangle's corners in order.
func (r Rect) Corners() [4]XY {
	s, c := math.Sincos(r.Angle)
	u, v := XY{c * r.Length / 2, s * r.Length / 2}, XY{-s * r.Width / 2, c * r.Width / 2}
	return [4]XY{sub(sub(r.Centre, u), v), sub(add(r.Centre, u), v), add(add(r.Centre, u), v), add(sub(r.Centre, u), v)}
}
