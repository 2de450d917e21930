package shape

import (
	"math"
	"slices"
	"testing"
)

// project is where a point at height z over q is seen on the plane by a camera at height h over the foot.
func project(q XY, z float64, foot XY, h float64) XY {
	return add(foot, mul(sub(q, foot), h/(h-z)))
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

// seenSlab is the exact silhouette of a body of height t over a convex plate at its rim: all that an ellipsoid with the body's half axes fills that
// runs along the plate.
func seenSlab(plate []XY, b Body, t float64, foot XY, h float64) []XY {
	half := [3]float64{b.Deep * t, b.Deep * t, b.High * t}
	lift := (b.Rim - b.High) * t
	var all []XY
	for _, q := range plate {
		for _, p := range seenEllipsoid(q, 0, half, foot, h) {
			all = append(all, project(p, lift, foot, h))
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
	plate := func(l, w float64) func(at XY, angle float64) []XY {
		return func(at XY, angle float64) []XY {
			return moved(moved(rectangle(l, w), 0, 1, XY{-l / 2, -w / 2}), angle, 1, at)
		}
	}
	// rounded is a plate grown by r.
	rounded := func(plate []XY, r float64) []XY {
		var all []XY
		for _, q := range plate {
			all = append(all, moved(ellipse(2*r, 2*r, 360), 0, 1, q)...)
		}
		return ConvexHull(all)
	}
	cases := []struct {
		name        string
		body        Body
		t           float64
		l, w        float64 // of the plate
		area, feret float64 // tolerances, relative
		centre      float64 // mm
	}{
		// What remains is of the second order: the piece's size over the camera's height, and the bulge over the radius of corners; Feret diameters
		// also lose what corners do where the outline is taken in steps of 0.15 mm and its direction over half a millimetre to either side.
		{"kernel", Body{0.5, 0.5, 0.5}, 4.6, 5.9, 2.7, 0.01, 0.02, 0.01},
		{"whole", WholeBody, 4.6, 6, 3, 0.01, 0.02, 0.01},
		{"broken", BrokenBody, 3, 3, 2, 0.01, 0.015, 0.01},
		{"cob", StoverBody, 5, 6, 5, 0.015, 0.035, 0.01},
		{"stalk", StoverBody, 4, 16, 6, 0.005, 0.02, 0.01},
		{"straw", StoverBody, 1, 18, 1.2, 0.005, 0.045, 0.005},
		{"scrap", StoverBody, 0.4, 14, 9, 0.001, 0.008, 0.001},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var raw, left [3]float64
			views(func(at, foot XY, h, angle float64) {
				rim := plate(c.l, c.w)(at, angle)
				want, photo := see(rounded(rim, c.body.Deep*c.t)), Resample(seenSlab(rim, c.body, c.t, foot, h), 0.15)
				a, f, m := see(photo).off(want)
				raw = [3]float64{max(raw[0], a), max(raw[1], f), max(raw[2], m)}
				a, f, m = see(c.body.FromAbove(photo, foot, h, c.t)).off(want)
				left = [3]float64{max(left[0], a), max(left[1], f), max(left[2], m)}
			})
			t.Logf("area, Feret, centre (mm) off by up to %.4f uncorrected, %.4f corrected", raw, left)
			if left[0] > c.area || left[1] > c.feret || left[2] > c.centre {
				t.Errorf("off by up to %.4f (area, Feret, centre in mm), want %.4f %.4f %.4f", left, c.area, c.feret, c.centre)
			}
			if left[0] > raw[0]/3 || left[2] > raw[2]/3 {
				t.Errorf("off by up to %.4f, less than three times as good as the uncorrected %.4f", left, raw)
			}
		})
	}
}

// The same outline either way round gives the same outline.
func TestFromAboveEitherWayRound(t *testing.T) {
	o := moved(ellipse(12, 5, 200), 0.4, 1, XY{150, 20})
	back := slices.Clone(o)
	slices.Reverse(back)
	a, b := StoverBody.FromAbove(o, XY{}, 300, 4), StoverBody.FromAbove(back, XY{}, 300, 4)
	if x, y := math.Abs(Area(a)), math.Abs(Area(b)); !near(x, y, 1e-9) || x > 0.97*Area(o) {
		t.Errorf("areas %.4f and %.4f mm² of %.4f", x, y, Area(o))
	}
}

func TestFromAboveLeavesTheRestAlone(t *testing.T) {
	o := rectangle(20, 5)
	for _, c := range [][2]float64{{400, 0}, {0, 5}, {5, 5}, {4, 5}, {-1, 5}, {400, -2}, {math.NaN(), 5}, {400, math.NaN()}} {
		got := WholeBody.FromAbove(o, XY{3, 3}, c[0], c[1])
		for i := range o {
			if got[i] != o[i] {
				t.Fatalf("camera %v, piece %v: outline changed", c[0], c[1])
			}
		}
	}
}

func BenchmarkFromAbove(b *testing.B) {
	o := moved(ellipse(12, 8, 200), 0.3, 1, XY{150, 80})
	b.ReportAllocs()
	for b.Loop() {
		WholeBody.FromAbove(o, XY{0, 0}, 400, 4)
	}
}

// Moved inward, a circle is a smaller circle, and the sides of a square come nearer to each other; moved outward the other way. Round corners
// would differ by less than the square of the way.
func TestInset(t *testing.T) {
	circle := make([]XY, 400)
	for i := range circle {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(len(circle)))
		circle[i] = XY{20 + 5*c, 30 + 5*s}
	}
	square := []XY{{0, 0}, {10, 0}, {10, 10}, {0, 10}}
	for _, by := range []float64{0, 0.05, 0.2, -0.1} {
		for _, o := range [][]XY{circle, square, reversed(circle), reversed(square)} {
			want := (10 - 2*by) * (10 - 2*by)
			if len(o) == len(circle) {
				want *= math.Pi / 4
			}
			got := Inset(o, by)
			if math.Abs(math.Abs(Area(got))-want) > 1e-3*want+by*by {
				t.Errorf("%d points moved by %g: %.3f mm², want %.3f", len(o), by, math.Abs(Area(got)), want)
			}
			if Area(got)*Area(o) < 0 {
				t.Errorf("%d points moved by %g run the other way round", len(o), by)
			}
			if c, d := Centroid(got), Centroid(o); math.Hypot(c[0]-d[0], c[1]-d[1]) > 1e-3 {
				t.Errorf("%d points moved by %g: their middle is %v, not %v", len(o), by, c, d)
			}
		}
	}
	if got := Inset(square[:2], 1); !slices.Equal(got, square[:2]) {
		t.Errorf("two points become %v", got)
	}
}
