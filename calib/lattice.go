package calib

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"

	"gristmark/internal/result"
)

// family is a set of segments that point to one vanishing point.
type family struct {
	parts []segment
	// point is the vanishing point, homogeneous, in px from the photo's middle over half its diagonal.
	point [3]float64
}

// normalise maps px to the frame in which vanishing points are kept.
type normalise struct {
	centre result.XY
	radius float64
}

func (n normalise) to(px result.XY) result.XY {
	return result.XY{(px[0] - n.centre[0]) / n.radius, (px[1] - n.centre[1]) / n.radius}
}

// matrix is the same as a homography.
func (n normalise) matrix() [9]float64 {
	return [9]float64{1 / n.radius, 0, -n.centre[0] / n.radius, 0, 1 / n.radius, -n.centre[1] / n.radius, 0, 0, 1}
}

// directions finds the two main directions of the segments, radians modulo a half turn, at least
// 50 degrees apart; ok is false without two.
func directions(segments []segment) (a, b float64, ok bool) {
	const bins = 180
	var hist, smooth [bins]float64
	for _, s := range segments {
		d := s.dir()
		k := int(math.Mod(math.Atan2(d[1], d[0])+2*math.Pi, math.Pi) / math.Pi * bins)
		hist[min(k, bins-1)] += s.length()
	}
	for i := range bins {
		for k := -5; k <= 5; k++ {
			smooth[i] += hist[(i+k+bins)%bins]
		}
	}
	best := func(allowed func(int) bool) int {
		k := -1
		for i := range bins {
			if allowed(i) && (k < 0 || smooth[i] > smooth[k]) {
				k = i
			}
		}
		return k
	}
	apart := func(i, j int) int { d := (i - j + bins) % bins; return min(d, bins-d) }
	i := best(func(int) bool { return true })
	j := best(func(k int) bool { return apart(i, k) >= 50 })
	if smooth[i] == 0 || smooth[j] == 0 {
		return 0, 0, false
	}
	radians := func(k int) float64 { return (float64(k) + 0.5) / bins * math.Pi }
	return radians(i), radians(j), true
}

// familyOf gathers the segments near a direction, finds their vanishing point by random samples and keeps
// those that point to it; ok is false when fewer than six do.
func familyOf(segments []segment, angle float64, n normalise, r *rand.Rand) (family, bool) {
	const spread, most = 0.28, 200
	d := result.XY{math.Cos(angle), math.Sin(angle)}
	var near []segment
	for _, s := range segments {
		if math.Abs(cross(d, s.dir())) < spread && len(near) < most {
			near = append(near, segment{n.to(s.a), n.to(s.b)})
		}
	}
	if len(near) < 6 {
		return family{}, false
	}
	var best family
	bestScore := 0.0
	rays := raysOf(near)
	for range 200 {
		i, j := r.IntN(len(near)), r.IntN(len(near))
		v := cross3(rays[i].line, rays[j].line)
		if l := norm3(v); i == j || l < 1e-9 {
			continue
		}
		if score := support(rays, v); score > bestScore {
			bestScore, best.point = score, v
		}
	}
	for range 3 {
		best.parts = pointing(near, best.point)
		if len(best.parts) < 6 {
			return best, false
		}
		best.point = vanishing(best.parts)
	}
	return best, true
}

// through is the homogeneous line of a segment.
func through(s segment) [3]float64 {
	return cross3([3]float64{s.a[0], s.a[1], 1}, [3]float64{s.b[0], s.b[1], 1})
}

// aside is the sine of the angle between a segment and the way from its middle to a vanishing point.
func aside(s segment, v [3]float64) float64 {
	m := s.middle()
	way := result.XY{v[0] - v[2]*m[0], v[1] - v[2]*m[1]}
	l := math.Hypot(way[0], way[1])
	if l == 0 {
		return 1
	}
	return math.Abs(cross(s.dir(), way)) / l
}

const pointingSine = 0.025

// ray is a segment prepared to be held against many vanishing points.
type ray struct {
	line        [3]float64 // through it, homogeneous
	middle, dir result.XY
	length      float64
}

func raysOf(parts []segment) []ray {
	out := make([]ray, len(parts))
	for i, s := range parts {
		out[i] = ray{through(s), s.middle(), s.dir(), s.length()}
	}
	return out
}

func support(rays []ray, v [3]float64) (sum float64) {
	for i := range rays {
		s := &rays[i]
		x, y := v[0]-v[2]*s.middle[0], v[1]-v[2]*s.middle[1]
		c := s.dir[0]*y - s.dir[1]*x
		if l := x*x + y*y; c*c < pointingSine*pointingSine*l {
			sum += s.length * (1 - math.Abs(c)/math.Sqrt(l)/pointingSine)
		}
	}
	return sum
}

func pointing(parts []segment, v [3]float64) (out []segment) {
	for _, s := range parts {
		if aside(s, v) < pointingSine {
			out = append(out, s)
		}
	}
	return out
}

// vanishing is the point nearest to all lines, in the least squares of the homogeneous sense.
func vanishing(parts []segment) [3]float64 {
	m := mat.NewSymDense(3, nil)
	for _, s := range parts {
		l := through(s)
		w := s.length() / math.Hypot(l[0], l[1])
		m.SymRankOne(m, 1, mat.NewVecDense(3, []float64{w * l[0], w * l[1], w * l[2]}))
	}
	var e mat.EigenSym
	if !e.Factorize(m, true) {
		return [3]float64{}
	}
	var v mat.Dense
	e.VectorsTo(&v)
	return [3]float64{v.At(0, 0), v.At(1, 0), v.At(2, 0)}
}

// rectify is the homography that sends two vanishing points to infinity along x and y.
func rectify(a, b [3]float64) ([9]float64, bool) {
	l := cross3(a, b)
	if math.Abs(l[2]) < 1e-6*norm3(l) {
		return [9]float64{}, false
	}
	p := [9]float64{1, 0, 0, 0, 1, 0, l[0] / l[2], l[1] / l[2], 1}
	da, db := unit(result.XY{a[0], a[1]}), unit(result.XY{b[0], b[1]})
	det := cross(da, db)
	if math.Abs(det) < 0.3 {
		return p, false
	}
	q := [9]float64{db[1] / det, -db[0] / det, 0, -da[1] / det, da[0] / det, 0, 0, 0, 1}
	return multiply3(q, p), true
}

func multiply3(a, b [9]float64) (c [9]float64) {
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				c[3*i+j] += a[3*i+k] * b[3*k+j]
			}
		}
	}
	return c
}

// mark1 is a position on a line, with a weight.
type mark1 struct{ x, w float64 }

// comb finds the largest spacing of which the positions are whole multiples, between shortest and
// longest, and the first position; strength is 1 for a perfect comb and near 0 for none. The comb of
// half the spacing is as strong: the largest spacing within a fifth of the strongest is taken.
func comb(marks []mark1, shortest, longest float64) (spacing, first, strength float64) {
	total, lo, hi := 0.0, math.Inf(1), math.Inf(-1)
	for _, m := range marks {
		total += m.w
		lo, hi = min(lo, m.x), max(hi, m.x)
	}
	extent := hi - lo
	if !(extent > 2*shortest) || total == 0 {
		return 0, 0, 0
	}
	at := func(f float64) complex128 {
		var sum complex128
		for _, m := range marks {
			sum += complex(m.w, 0) * cmplx.Exp(complex(0, -2*math.Pi*f*(m.x-lo)))
		}
		return sum / complex(total, 0)
	}
	step := 0.1 / extent
	from := 1 / min(longest, extent/2.5)
	// Each mark turns by the same angle at each step.
	now, by := make([]complex128, len(marks)), make([]complex128, len(marks))
	for i, m := range marks {
		now[i] = complex(m.w/total, 0) * cmplx.Exp(complex(0, -2*math.Pi*from*(m.x-lo)))
		by[i] = cmplx.Exp(complex(0, -2*math.Pi*step*(m.x-lo)))
	}
	var fs, ss []float64
	top := 0.0
	for f := from; f <= 1/shortest; f += step {
		var sum complex128
		for i := range now {
			sum += now[i]
			now[i] *= by[i]
		}
		s := cmplx.Abs(sum)
		fs, ss = append(fs, f), append(ss, s)
		top = max(top, s)
	}
	for i := 1; i+1 < len(ss); i++ {
		if ss[i] < 0.8*top || ss[i] < ss[i-1] || ss[i] < ss[i+1] {
			continue
		}
		f := refine(func(f float64) float64 { return cmplx.Abs(at(f)) }, fs[i], step)
		z := at(f)
		return 1 / f, lo - cmplx.Phase(z)/(2*math.Pi*f), cmplx.Abs(z)
	}
	return 0, 0, 0
}

// refine climbs to a maximum within step of x.
func refine(fn func(float64) float64, x, step float64) float64 {
	for range 20 {
		step /= 2
		if a := fn(x - step); a > fn(x) {
			x -= step
		} else if fn(x+step) > fn(x) {
			x += step
		}
	}
	return x
}
