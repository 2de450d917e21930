package shape

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// drawn rasterises an outline in mm at a scale and returns its largest contour in mm again.
func drawn(t testing.TB, o []XY, pxPerMM float64) []XY {
	lo, hi := Bounds(o)
	shift := XY{3 - lo[0]*pxPerMM, 3 - lo[1]*pxPerMM}
	w, h := int((hi[0]-lo[0])*pxPerMM)+7, int((hi[1]-lo[1])*pxPerMM)+7
	c := FromMask(Rasterise([][]XY{moved(o, 0, pxPerMM, shift)}, w, h), w, h, 0.5)
	if len(c) != 1 || c[0].Hole {
		t.Fatalf("%d contours, want one", len(c))
	}
	return moved(moved(c[0].Points, 0, 1, mul(shift, -1)), 0, 1/pxPerMM, XY{})
}

// Exact shapes through the raster path: drawn by coverage, outlined at one half, measured back. Between
// pixel centres the coverage of a slanted edge is not quite linear, which moves the edge by up to 0.03 px,
// and a square corner is cut by up to half a pixel along its diagonal. Hence the tolerances: area 0.035 px
// times the perimeter and 0.6 px² for the corners, widths between straight sides or along an ellipse
// 0.25 px, diagonals from corner to corner 1 px, perimeter 0.5 % and 2 px, centreline 0.5 % (its own, in
// bends and on round ends) and 0.1 px.
func TestExactShapesThroughPixels(t *testing.T) {
	cases := []struct {
		name                        string
		o                           []XY
		area, perimeter, fmax, fmin float64
		line                        float64 // 0: not slender
		solidity                    float64
	}{
		{"rectangle 20x5", rectangle(20, 5), 100, 50, 20.615528, 5, 20, 1},
		{"square 10", rectangle(10, 10), 100, 40, 14.142136, 10, 0, 1},
		{"ellipse 12x8", ellipse(12, 8, 720), 75.398224, 31.730879, 12, 8, 12, 1},
		{"3x3 less a corner", lessCorner(), 5, 12, math.Sqrt(18), math.Sqrt(8), 0, 5.0 / 7},
		{"bent strip 30x4", strip(arc(15, 30), 4, 0.3), 120, 60 + 8/math.Cos(0.3), 0, 0, 30, 0},
	}
	for _, scale := range []float64{5, 10, 20} {
		for _, c := range cases {
			for k := range 13 {
				o := drawn(t, turned(c.o, float64(k)*7.5*deg), scale)
				s := Measure(o)
				note := func(what string, got, want, tol float64) {
					if want == 0 {
						return
					}
					if math.Abs(got-want) > tol {
						t.Errorf("%s at %v px/mm, %.1f°: %s %.4f, want %.4f ± %.4f", c.name, scale, float64(k)*7.5, what, got, want, tol)
					}
				}
				px := 1 / scale
				note("area", s.Area, c.area, 0.035*c.perimeter*px+0.6*px*px)
				note("perimeter", s.Perimeter, c.perimeter, 0.005*c.perimeter+2*px)
				note("largest Feret", s.MaxFeret.Length, c.fmax, px)
				across := 0.25 * px
				if c.fmin == math.Sqrt(8) { // ends in a corner
					across = px
				}
				note("smallest Feret", s.MinFeret.Length, c.fmin, across)
				note("centreline", s.CentreLine, c.line, 0.005*c.line+0.1*px)
				note("solidity", s.Solidity, c.solidity, 0.12*px)
			}
		}
	}
}

// A mask of 0 and 255 alone gives steps; smoothed, the perimeter comes within 1 % (rectangle: sides of
// 250 and more by 62 px; disc from 10 px radius).
func TestPerimeterOfStairs(t *testing.T) {
	hard := func(o []XY, w, h int) []XY {
		m := Rasterise([][]XY{o}, w, h)
		for i, v := range m {
			m[i] = 255 * (v >> 7)
		}
		return FromMask(m, w, h, 0.5)[0].Points
	}
	raw := 0.0
	for _, r := range []float64{10, 15, 20, 40, 80} {
		for k := range 5 {
			d := float64(k) * 0.23
			o := hard(moved(ellipse(2*r, 2*r, 400), 0, 1, XY{r + 5 + d, r + 5 - d/2}), int(2*r)+10, int(2*r)+10)
			raw = max(raw, Perimeter(o)/(2*math.Pi*r)-1)
			if e := Perimeter(Smooth(o, PerimeterSigma))/(2*math.Pi*r) - 1; math.Abs(e) > 0.01 {
				t.Errorf("disc of radius %v: perimeter off by %.2f %%", r, 100*e)
			}
		}
	}
	if raw < 0.03 {
		t.Errorf("steps alone are off by %.1f %%: the test shows nothing", 100*raw)
	}
	for k := range 30 {
		a := float64(k) * 3.1 * deg
		o := moved(rectangle(250, 62), a, 1, XY{80, 10})
		e := Perimeter(Smooth(hard(o, 400, 400), PerimeterSigma))/624 - 1
		if math.Abs(e) > 0.01 {
			t.Errorf("rectangle at %.1f°: perimeter off by %.2f %%", a/deg, 100*e)
		}
	}
}

// The centreline of stairs of 0.2 mm, smoothed over one: 1.5 % where the ends are square or nearly, 3 % where
// they slant by 35°, since there an axis that is half a step aside is a third of a step longer.
func TestCentreLineOfStairs(t *testing.T) {
	for _, c := range []struct {
		o         []XY
		want, tol float64
	}{{rectangle(20, 5), 20, 0.015}, {rectangle(9, 4), 9, 0.015}, {rectangle(30, 1.2), 30, 0.015}, {strip(arc(15, 30), 4, 0.4), 30, 0.015},
		{strip(straight(20), 5, 35*deg), 20, 0.03}} {
		for k := range 24 {
			o := turned(c.o, float64(k)*7.7*deg)
			lo, _ := Bounds(o)
			m := Rasterise([][]XY{moved(o, 0, 5, XY{5 - 5*lo[0], 5 - 5*lo[1]})}, 200, 200)
			for i, v := range m {
				m[i] = 255 * (v >> 7)
			}
			got, _ := CentreLine(Smooth(FromMask(m, 200, 200, 0.5)[0].Points, 1))
			if e := math.Abs(got/5 - c.want); e > c.tol*c.want {
				t.Errorf("length %v, turned %d: %.3f", c.want, k, got/5)
			}
		}
	}
}

func TestRasteriseIsExact(t *testing.T) {
	m := Rasterise([][]XY{{{0.5, 0.25}, {2.5, 0.25}, {2.5, 1.5}, {0.5, 1.5}}}, 4, 3)
	for i, want := range []float64{.375, .75, .375, 0, .25, .5, .25, 0, 0, 0, 0, 0} {
		if math.Abs(float64(m[i])-255*want) > 0.51 {
			t.Errorf("pixel %d: %d, want %.1f", i, m[i], 255*want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		o := moved(star(t), rapid.Float64Range(0, 7).Draw(t, "angle"), 1, XY{rapid.Float64Range(-8, 38).Draw(t, "x"), rapid.Float64Range(-8, 38).Draw(t, "y")})
		sum := 0.0
		for _, v := range Rasterise([][]XY{o}, 30, 30) {
			sum += float64(v) / 255
		}
		want := math.Abs(Area(clip(o, 30, 30)))
		if math.Abs(sum-want) > 0.002*250+1e-9 { // half a 255th for each pixel that the edge passes
			t.Fatalf("coverage adds up to %.4f, area within the mask %.4f", sum, want)
		}
	})
}

func TestContoursOfHolesAndCorners(t *testing.T) {
	ring := Rasterise([][]XY{moved(ellipse(16, 16, 200), 0, 1, XY{10, 10}), reversed(moved(ellipse(8, 8, 200), 0, 1, XY{10, 10})),
		moved(rectangle(3, 3), 0, 1, XY{20, 4})}, 25, 20)
	c := FromMask(ring, 25, 20, 0.5)
	if len(c) != 3 || c[0].Hole || !c[1].Hole || c[2].Hole {
		t.Fatalf("got %d contours, want a ring, its hole and a square", len(c))
	}
	for i, want := range []float64{64 * math.Pi, -16 * math.Pi, 9} {
		if a := Area(c[i].Points); math.Abs(a-want) > 0.6 {
			t.Errorf("contour %d has area %.2f, want %.2f", i, a, want)
		}
	}
	diagonal := []uint8{255, 0, 0, 255}
	if n := len(FromMask(diagonal, 2, 2, 0.4)); n != 1 {
		t.Errorf("mean above the level: %d contours, want one joined", n)
	}
	if n := len(FromMask(diagonal, 2, 2, 0.6)); n != 2 {
		t.Errorf("mean below the level: %d contours, want two apart", n)
	}
	if c := FromMask([]uint8{255, 255, 255, 255}, 2, 2, 0.5); len(c) != 1 || !near(Area(c[0].Points), 3.5, 1e-9) {
		t.Errorf("full mask: %+v, want the border less four corners of 1/8", c)
	}
	if FromMask(nil, 3, 3, 0.5) != nil || FromMask(diagonal, 0, 2, 0.5) != nil || Rasterise(nil, 0, 1) != nil {
		t.Error("masks of no size must give nothing")
	}
}

func TestSimplify(t *testing.T) {
	if s := Simplify(Resample(rectangle(20, 5), 0.1), 0.02); len(s) > 8 || math.Abs(Area(s)-100) > 0.2 {
		t.Errorf("rectangle: %d points, area %.2f", len(s), Area(s))
	}
	rapid.Check(t, func(t *rapid.T) {
		o := star(t)
		s := Simplify(o, 0.3)
		for _, p := range o {
			d := math.Inf(1)
			for i, q := range s {
				d = min(d, toSegment(p, q, s[(i+1)%len(s)]))
			}
			if d > 0.3+1e-9 {
				t.Fatalf("point %v lies %.3f from the simplified outline", p, d)
			}
		}
	})
}

func TestResampleAndSmoothKeepShape(t *testing.T) {
	o := Resample(ellipse(40, 40, 1000), 0.5)
	if n := len(o); math.Abs(float64(n)-80*math.Pi) > 1 {
		t.Errorf("%d points, want %.0f", n, 80*math.Pi)
	}
	s := Smooth(o, 4)
	if r := math.Sqrt(Area(s) / math.Pi); math.Abs(r/20-1) > 1e-3 {
		t.Errorf("disc of radius 20 smoothed over 4 has radius %.4f", r)
	}
}

func BenchmarkRaster(b *testing.B) {
	for _, n := range []int{50, 200} {
		o := moved(ellipse(12, 8, 200), 0.3, float64(n)/14, XY{float64(n) / 2, float64(n) / 2})
		b.Run(fmt.Sprint("draw/", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Rasterise([][]XY{o}, n, n)
			}
		})
		m := Rasterise([][]XY{o}, n, n)
		b.Run(fmt.Sprint("outline/", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if len(FromMask(m, n, n, 0.5)) != 1 {
					b.Fatal("want one contour")
				}
			}
		})
	}
}
