package shape

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Closed forms; the numbers are those that anyone can work out on paper.
func TestExactShapes(t *testing.T) {
	cases := []struct {
		name                          string
		outline                       []XY
		area, perimeter, fmax, fmin   float64
		circularity, formFactor, hull float64
		tolerance                     float64
	}{
		{"rectangle 20x5", rectangle(20, 5), 100, 50, 20.615528, 5, 0.708982, 0.502655, 100, 1e-6},
		{"square 10", rectangle(10, 10), 100, 40, 14.142136, 10, 0.886227, 0.785398, 100, 1e-6},
		{"ellipse 12x8", ellipse(12, 8, 4000), 75.398224, 31.730879, 12, 8, 0.970071, 0.941037, 75.398224, 2e-6}, // a polygon of 4000 corners
		{"3x3 less a corner", lessCorner(), 5, 12, math.Sqrt(18), math.Sqrt(8), math.Sqrt(4 * math.Pi * 5 / 144), 4 * math.Pi * 5 / 144, 7, 1e-9},
	}
	for _, c := range cases {
		for k := range 12 {
			o := turned(c.outline, float64(k)*31.3*deg)
			s := Measure(o)
			for _, v := range []struct {
				name      string
				got, want float64
			}{
				{"area", s.Area, c.area}, {"perimeter", s.Perimeter, c.perimeter}, {"largest Feret", s.MaxFeret.Length, c.fmax},
				{"smallest Feret", s.MinFeret.Length, c.fmin}, {"circularity", Circularity(s.Area, s.Perimeter), c.circularity},
				{"form factor", FormFactor(s.Area, s.Perimeter), c.formFactor}, {"solidity", s.Solidity, c.area / c.hull},
				{"mean Feret", MeanFeret(o), Perimeter(ConvexHull(o)) / math.Pi},
			} {
				if math.Abs(v.got/v.want-1) > c.tolerance {
					t.Errorf("%s, turned %d: %s %.7f, want %.7f", c.name, k, v.name, v.got, v.want)
				}
			}
		}
	}
	if s := Solidity(lessCorner()); math.Abs(s-0.714286) > 1e-6 {
		t.Errorf("solidity of the square less a corner %.6f, want 0.714286", s)
	}
}

func TestAnglesAndBox(t *testing.T) {
	for k := range 36 {
		a := halfTurn(float64(k) * 10.1 * deg)
		o := turned(rectangle(20, 5), a)
		if r := MinAreaRect(o); math.Abs(r.Length-20)+math.Abs(r.Width-5) > 1e-9 || !sameLine(r.Angle, a) {
			t.Errorf("turned by %.3f: box %+v", a, r)
		}
		if f := MaxFeret(o); !sameLine(f.Angle, a+math.Atan2(5, 20)) && !sameLine(f.Angle, a-math.Atan2(5, 20)) {
			t.Errorf("turned by %.3f: largest Feret at %.3f", a, f.Angle)
		}
		if f := MinFeret(o); !sameLine(f.Angle, a+math.Pi/2) {
			t.Errorf("turned by %.3f: smallest Feret at %.3f", a, f.Angle)
		}
		e := EllipseOf(turned(ellipse(12, 8, 2000), a))
		if math.Abs(e.Major-12)+math.Abs(e.Minor-8) > 1e-4 || !sameLine(e.Angle, a) {
			t.Errorf("turned by %.3f: ellipse %+v", a, e)
		}
	}
}

func sameLine(a, b float64) bool { return math.Abs(halfTurn(a-b)) < 1e-6 }

// points draws a ragged star about a place, which is a simple outline.
func star(t *rapid.T) []XY {
	n := rapid.IntRange(3, 60).Draw(t, "n")
	r := rapid.SliceOfN(rapid.Float64Range(0.5, 10), n, n).Draw(t, "r")
	o := make([]XY, n)
	for i := range o {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		o[i] = XY{r[i] * c, r[i] * s}
	}
	return o
}

func near(a, b, tol float64) bool { return math.Abs(a-b) <= tol*(1+math.Abs(a)+math.Abs(b)) }

func TestCalipersAgreeWithBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := star(t)
		far, thin := 0.0, math.Inf(1)
		for _, p := range o {
			far = max(far, dist(p, o[farthest(o, p)]))
		}
		h := ConvexHull(o)
		for i, p := range h {
			d := sub(h[(i+1)%len(h)], p)
			thin = min(thin, h.Width(math.Atan2(d[1], d[0])+math.Pi/2))
		}
		if !near(MaxFeret(o).Length, far, 1e-9) || !near(MinFeret(o).Length, thin, 1e-9) {
			t.Fatalf("calipers %v %v, by all pairs %v %v", MaxFeret(o), MinFeret(o), far, thin)
		}
	})
}

// Moving, turning, mirroring and reversing change no size; scaling multiplies lengths and areas.
func TestInvariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := star(t)
		k := rapid.Float64Range(0.01, 100).Draw(t, "scale")
		p := moved(o, rapid.Float64Range(0, 7).Draw(t, "angle"), k, XY{rapid.Float64Range(-1000, 1000).Draw(t, "x"), 5})
		if rapid.Bool().Draw(t, "mirror") {
			for i := range p {
				p[i][0] = -p[i][0]
			}
		}
		if rapid.Bool().Draw(t, "reverse") {
			p = reversed(p)
		}
		a, b := Measure(o), Measure(p)
		ea, eb := EllipseOf(o), EllipseOf(p)
		for _, v := range [][3]float64{
			{a.Perimeter * k, b.Perimeter}, {a.MaxFeret.Length * k, b.MaxFeret.Length}, {a.MinFeret.Length * k, b.MinFeret.Length},
			{a.Area * k * k, b.Area}, {a.Solidity, b.Solidity}, {ea.Major * k, eb.Major}, {ea.Minor * k, eb.Minor},
			{MinAreaRect(o).Length * MinAreaRect(o).Width * k * k, MinAreaRect(p).Length * MinAreaRect(p).Width},
		} {
			if math.Abs(v[0]-v[1]) > 1e-6*math.Abs(v[0]) {
				t.Fatalf("%v against %v at scale %v", v[0], v[1], k)
			}
		}
		c := Centroid(o)
		if !within(c, XY{-10, -10}, XY{10, 10}) {
			t.Fatalf("centroid %v", c)
		}
	})
}

// The mean caliper diameter over many directions is the hull's perimeter over π (Cauchy).
func TestCauchy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := star(t)
		h, sum := ConvexHull(o), 0.0
		const n = 2000
		for k := range n {
			sum += h.Width(math.Pi * float64(k) / n)
		}
		if !near(sum/n, MeanFeret(o), 1e-5) {
			t.Fatalf("mean of %d widths %.6f, perimeter/π %.6f", n, sum/n, MeanFeret(o))
		}
	})
}

// Whatever the points, nothing panics and lengths are no less than 0.
func TestNothingPanics(t *testing.T) {
	odd := []float64{0, 0, 1, 1, -1, 2, 1e-300, 1e300, math.NaN(), math.Inf(1), math.Inf(-1), 7, 7.5}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 7).Draw(t, "n")
		o := make([]XY, n)
		for i := range o {
			o[i] = XY{rapid.SampledFrom(odd).Draw(t, "x"), rapid.SampledFrom(odd).Draw(t, "y")}
		}
		s := Measure(o)
		if s.Area < 0 || s.Perimeter < 0 || s.CentreLine < 0 || s.MinFeret.Length < 0 {
			t.Fatalf("%v gives %+v", o, s)
		}
		s.Stover()
		s.Kernel()
		EllipseOf(o)
		MinAreaRect(o)
		Centroid(o)
		Defects(o, 0.1)
		Corners(o, 1, 3)
		Curvature(o, 1)
		StraightRun(o, 0.1)
		RadialProfile(o, 16)
		Simplify(o, 0.1)
		Smooth(o, 0.5)
		Rasterise([][]XY{o}, 9, 9)
		StoverBody.FromAbove(o, XY{3, 3}, 400, 5)
	})
}

func BenchmarkMeasure(b *testing.B) {
	for _, n := range []int{30, 100, 400} {
		o := Resample(turned(ellipse(12, 8, 400), 0.4), 31.73/float64(n))
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if s := Measure(o); math.Abs(s.MaxFeret.Length-12) > 0.1 {
					b.Fatalf("largest Feret %.3f, want 12", s.MaxFeret.Length)
				}
			}
		})
	}
}

// Dealing points out over columns orders them as sorting does, whatever crowds into one column.
func TestByPlaceIsSorted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coordinate := rapid.OneOf(rapid.Float64Range(-1e3, 1e3), rapid.Map(rapid.IntRange(-9, 9), func(i int) float64 { return float64(i) / 2 }))
		points := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) XY {
			return XY{coordinate.Draw(t, "x"), coordinate.Draw(t, "y")}
		}), 0, 120).Draw(t, "points")
		want := slices.Clone(points)
		slices.SortFunc(want, func(a, b XY) int { return slices.Compare(a[:], b[:]) })
		if got := byPlace(points); !slices.Equal(got, want) {
			t.Fatalf("got %v, want %v", got, want)
		}
	})
}
