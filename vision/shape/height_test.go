package shape

import (
	"math"
	"testing"
)

// project is where a point at height z over q is seen on the plane by a camera at height h over the foot.
func project(q XY, z float64, foot XY, h float64) XY {
	return add(foot, mul(sub(q, foot), h/(h-z)))
}

// seenPrism is the exact silhouette of an upright prism on a convex base: the hull of base and top.
func seenPrism(base []XY, t float64, foot XY, h float64) []XY {
	all := append([]XY(nil), base...)
	for _, q := range base {
		all = append(all, project(q, t, foot, h))
	}
	return ConvexHull(all)
}

// seenEllipsoid is the exact silhouette of an ellipsoid that lies on the plane. In the frame where it is
// the unit sphere, the lines of sight from e touch it along the circle s·e = 1.
func seenEllipsoid(at XY, angle float64, half [3]float64, foot XY, h float64) (o []XY) {
	s, c := math.Sincos(angle)
	d := sub(foot, at)
	e := [3]float64{(d[0]*c + d[1]*s) / half[0], (d[1]*c - d[0]*s) / half[1], (h - half[2]) / half[2]}
	e2 := e[0]*e[0] + e[1]*e[1] + e[2]*e[2]
	r := math.Sqrt(1 - 1/e2)
	u := [3]float64{-e[2], 0, e[0]} // square to e
	un := math.Hypot(u[0], u[2])
	u = [3]float64{u[0] / un, 0, u[2] / un}
	en := math.Sqrt(e2)
	v := [3]float64{(e[1]*u[2] - e[2]*u[1]) / en, (e[2]*u[0] - e[0]*u[2]) / en, (e[0]*u[1] - e[1]*u[0]) / en}
	for k := range 360 {
		sn, cs := math.Sincos(float64(k) * deg)
		var p [3]float64
		for i := range p {
			p[i] = half[i] * (e[i]/e2 + r*(cs*u[i]+sn*v[i]))
		}
		q := add(at, XY{p[0]*c - p[1]*s, p[0]*s + p[1]*c})
		o = append(o, project(q, p[2]+half[2], foot, h))
	}
	return o
}

// seenBall is the silhouette of a ball of radius r that lies on the plane at q.
func seenBall(q XY, r float64, foot XY, h float64) []XY {
	return seenEllipsoid(q, 0, [3]float64{r, r, r}, foot, h)
}

// seenSlab is the exact silhouette of a slab of height t with edges round by half of it, above a convex plate.
func seenSlab(plate []XY, t float64, foot XY, h float64) []XY {
	var all []XY
	for _, q := range plate {
		all = append(all, seenBall(q, t/2, foot, h)...)
	}
	return ConvexHull(all)
}

// seenHalfRound is the silhouette of a convex half cylinder, flat side down, through points on its ends.
func seenHalfRound(at XY, angle, length, half, t float64, foot XY, h float64) []XY {
	s, c := math.Sincos(angle)
	var all []XY
	for k := range 181 {
		sn, cs := math.Sincos(float64(k) * deg)
		for _, x := range []float64{-length / 2, length / 2} {
			q := add(at, XY{x*c - half*cs*s, x*s + half*cs*c})
			all = append(all, project(q, t*sn, foot, h))
		}
	}
	return ConvexHull(all)
}

type seen struct {
	area, fmax, fmin float64
	centre           XY
}

func see(o []XY) seen {
	h := ConvexHull(o)
	return seen{math.Abs(Area(o)), h.MaxFeret().Length, h.MinFeret().Length, Centroid(o)}
}

// worse is the larger relative error in area, largest and smallest Feret, and the centre's error in mm.
func (s seen) off(want seen) (area, feret, centre float64) {
	return math.Abs(s.area/want.area - 1), max(math.Abs(s.fmax/want.fmax-1), math.Abs(s.fmin/want.fmin-1)), dist(s.centre, want.centre)
}

// views are the places of a camera, and of pieces from below it out to 37° off its axis.
func views(f func(at, foot XY, h, angle float64)) {
	for _, h := range []float64{170, 400} {
		for _, out := range []float64{0.02, 0.2, 0.4, 0.75} {
			for k := range 12 {
				s, c := math.Sincos(float64(k) * 37 * deg)
				foot := XY{120, 80}
				f(add(foot, mul(XY{c, s}, out*h)), foot, h, float64(k)*15.5*deg)
			}
		}
	}
}

func TestFromAboveUndoesExactViews(t *testing.T) {
	const kernelT, scrapT, stalkT = 4.6, 1.2, 4.0
	oval := func(at XY, angle float64) []XY { return moved(ellipse(10.5, 7.3, 360), angle, 1, at) }
	plate := func(at XY, angle float64) []XY {
		return moved(moved(rectangle(10.5-kernelT, 7.3-kernelT), 0, 1, XY{(kernelT - 10.5) / 2, (kernelT - 7.3) / 2}), angle, 1, at)
	}
	kernel := func(at XY, angle float64) []XY {
		var all []XY
		for _, q := range plate(at, angle) {
			all = append(all, moved(ellipse(kernelT, kernelT, 360), 0, 1, q)...)
		}
		return ConvexHull(all)
	}
	scrap := func(at XY, angle float64) []XY {
		return moved(moved(rectangle(14, 9), 0, 1, XY{-7, -4.5}), angle, 1, at)
	}
	leaf := func(at XY, angle float64) []XY { return moved(ellipse(18, 6, 360), angle, 1, at) }
	stalk := func(at XY, angle float64) []XY {
		return moved(moved(rectangle(20, 9), 0, 1, XY{-10, -4.5}), angle, 1, at)
	}
	cases := []struct {
		name                string
		body                Body
		t                   float64
		truth               func(at XY, angle float64) []XY
		photo               func(at XY, angle float64, foot XY, h float64) []XY
		area, feret, centre float64 // tolerances: relative, relative, mm
	}{
		// What remains: the slab's size over the camera's height times the slope; and a scale along one direction gives a
		// slab's sides and corners to first order only, δ/A being 0.11 at 37°.
		{"kernel", Rounded, kernelT, kernel, func(at XY, a float64, foot XY, h float64) []XY {
			return seenSlab(plate(at, a), kernelT, foot, h)
		}, 0.03, 0.04, 0.06},
		// A kernel as round as an ellipsoid is flatter towards its edge and comes out too small, by what the two bodies
		// differ in, 37° off the axis.
		{"ellipsoid", Rounded, kernelT, oval, func(at XY, a float64, foot XY, h float64) []XY {
			return seenEllipsoid(at, a, [3]float64{10.5 / 2, 7.3 / 2, kernelT / 2}, foot, h)
		}, 0.065, 0.065, 0.03},
		// Prisms: the choice of side is made on an outline in steps of a 200th, and normals near the change
		// of side are told apart by 6°.
		{"square-cut scrap", Flat, scrapT, scrap, func(at XY, a float64, foot XY, h float64) []XY {
			return seenPrism(scrap(at, a), scrapT, foot, h)
		}, 0.006, 0.01, 0.02},
		{"oval scrap", Flat, scrapT, leaf, func(at XY, a float64, foot XY, h float64) []XY {
			return seenPrism(leaf(at, a), scrapT, foot, h)
		}, 0.002, 0.005, 0.01},
		// The same outlined from pixels of 0.1 mm: corners cut by half a pixel as well.
		{"square-cut scrap in pixels", Flat, scrapT, scrap, func(at XY, a float64, foot XY, h float64) []XY {
			return drawn(t, seenPrism(scrap(at, a), scrapT, foot, h), 10)
		}, 0.01, 0.02, 0.04},
		// Half cylinder: first order; the axis comes from the seen box.
		{"split stalk", HalfRound, stalkT, stalk, func(at XY, a float64, foot XY, h float64) []XY {
			return Resample(seenHalfRound(at, a, 20, 4.5, stalkT, foot, h), 0.2)
		}, 0.025, 0.012, 0.15},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var raw, left [3]float64
			views(func(at, foot XY, h, angle float64) {
				want, photo := see(c.truth(at, angle)), c.photo(at, angle, foot, h)
				a, f, m := see(photo).off(want)
				raw = [3]float64{max(raw[0], a), max(raw[1], f), max(raw[2], m)}
				a, f, m = see(c.body.FromAbove(photo, foot, h, c.t)).off(want)
				left = [3]float64{max(left[0], a), max(left[1], f), max(left[2], m)}
			})
			t.Logf("area, Feret, centre (mm) off by up to %.4f uncorrected, %.4f corrected", raw, left)
			if left[0] > c.area || left[1] > c.feret || left[2] > c.centre {
				t.Errorf("off by up to %.4f (area, Feret, centre in mm), want %.4f %.4f %.4f", left, c.area, c.feret, c.centre)
			}
			if left[0] > raw[0]/2 || left[2] > raw[2]/2 {
				t.Errorf("off by up to %.4f, less than twice as good as the uncorrected %.4f", left, raw)
			}
		})
	}
}

func TestFromAboveLeavesTheRestAlone(t *testing.T) {
	o := rectangle(20, 5)
	for _, c := range [][2]float64{{400, 0}, {0, 5}, {5, 5}, {4, 5}, {-1, 5}, {400, -2}, {math.NaN(), 5}, {400, math.NaN()}} {
		for b := Rounded; b <= HalfRound; b++ {
			got := b.FromAbove(o, XY{3, 3}, c[0], c[1])
			for i := range o {
				if got[i] != o[i] {
					t.Fatalf("camera %v, piece %v: outline changed", c[0], c[1])
				}
			}
		}
	}
	if got := FromAbove(o, XY{0, 0}, 400, 4); !near(Area(got), Area(Rounded.FromAbove(o, XY{0, 0}, 400, 4)), 1e-12) {
		t.Error("FromAbove is not that of rounded pieces")
	}
}

func BenchmarkFromAbove(b *testing.B) {
	o := moved(ellipse(12, 8, 200), 0.3, 1, XY{150, 80})
	for name, body := range map[string]Body{"rounded": Rounded, "flat": Flat, "halfround": HalfRound} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				body.FromAbove(o, XY{0, 0}, 400, 4)
			}
		})
	}
}
