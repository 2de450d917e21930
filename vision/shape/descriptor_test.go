package shape

import (
	"math"
	"testing"
)

func TestGeodesic(t *testing.T) {
	if l, e := Geodesic(100, 50); math.Abs(l-20)+math.Abs(e-5) > 1e-9 {
		t.Errorf("rectangle: %v × %v, want 20 × 5", l, e)
	}
	if l, e := Geodesic(math.Pi, 2*math.Pi); l != e || math.Abs(l-math.Sqrt(math.Pi)) > 1e-9 {
		t.Errorf("disc: %v × %v, want the square of the same area", l, e)
	}
	if l, e := Geodesic(0, 0); l != 0 || e != 0 {
		t.Errorf("nothing: %v × %v", l, e)
	}
}

func TestBending(t *testing.T) {
	if b := Bending(straight(7)); b != 0 {
		t.Errorf("straight: %v", b)
	}
	if b := Bending(arc(5, 5*math.Pi)); math.Abs(b-(1-2/math.Pi)) > 1e-3 {
		t.Errorf("half circle: %v, want 1 - 2/π", b)
	}
}

func TestDefects(t *testing.T) {
	d := Defects(lessCorner(), 0.1)
	if len(d) != 1 || math.Abs(d[0].Depth-math.Sqrt2) > 1e-9 || d[0].Deepest != (XY{1, 1}) {
		t.Fatalf("square less a corner: %+v, want one bay √2 deep at (1, 1)", d)
	}
	notched := []XY{{0, 0}, {10, 0}, {10, 4}, {6, 4}, {5, 1}, {4, 4}, {0, 4}}
	if d = Defects(notched, 0.1); len(d) != 1 || math.Abs(d[0].Depth-3) > 1e-9 {
		t.Errorf("notch: %+v, want one bay 3 deep", d)
	}
	if d = Defects(reversed(notched), 0.1); len(d) != 1 || math.Abs(d[0].Depth-3) > 1e-9 {
		t.Errorf("notch the other way round: %+v", d)
	}
	if d = Defects(ellipse(12, 8, 100), 0.01); len(d) != 0 {
		t.Errorf("ellipse: %+v", d)
	}
}

func TestRadialProfile(t *testing.T) {
	for i, r := range RadialProfile(turned(ellipse(12, 8, 2000), 0), 8) {
		s, c := math.Sincos(float64(i) * math.Pi / 4)
		if want := 24 / math.Hypot(4*c, 6*s); math.Abs(r-want) > 1e-3 {
			t.Errorf("direction %d: %.4f, want %.4f", i, r, want)
		}
	}
	if s := RadialSpread(RadialProfile(ellipse(8, 8, 2000), 64)); s > 1e-4 {
		t.Errorf("disc: spread %v", s)
	}
}

func TestCorners(t *testing.T) {
	c := Corners(turned(rectangle(20, 10), 0.3), 2, 6)
	for i := range 4 {
		// the sampled points lie up to half a step, an eighth of the scale over two, from the corner
		if math.Abs(c[i].Turn-math.Pi/2) > 0.15 {
			t.Errorf("corner %d turns by %.3f, want π/2", i, c[i].Turn)
		}
	}
	if math.Abs(c[4].Turn) > 0.1 {
		t.Errorf("fifth corner turns by %.3f, want none", c[4].Turn)
	}
	for _, o := range [][]XY{lessCorner(), reversed(lessCorner())} {
		notch := 0
		for _, c := range Corners(o, 0.5, 6) {
			if c.Turn < -1.3 && dist(c.At, XY{1, 1}) < 0.1 {
				notch++
			}
		}
		if notch != 1 {
			t.Errorf("found the notch %d times", notch)
		}
	}
	for _, k := range Curvature(ellipse(10, 10, 1000), 1) {
		if math.Abs(k-0.2) > 0.002 {
			t.Errorf("disc of radius 5: curvature %v, want 0.2", k)
		}
	}
}

func TestStraightRun(t *testing.T) {
	if l, _, _ := StraightRun(turned(Resample(rectangle(20, 5), 0.1), 0.7), 0.05); math.Abs(l-20) > 0.5 {
		t.Errorf("rectangle: %v, want 20 within two samples of 50/256", l)
	}
	// an arc of radius r stays within e of its chord while its sagitta does: chord² = 8re; less a sample, and a line that is free to cut it gets farther
	if l, _, _ := StraightRun(ellipse(10, 10, 256), 0.05); l < math.Sqrt(8*5*0.05)-10*math.Pi/256 || l > 2*math.Sqrt(8*5*0.05) {
		t.Errorf("disc: %v", l)
	}
}

func TestFrameWeight(t *testing.T) {
	for _, c := range [][3]float64{{10, 8, 1.0537408}, {60, 5, 1.1964108}, {200, 150, 4.0}, {0, 0, 1}, {400, 1, 0}, {500, 400, 0}} {
		if got := FrameWeight(400, 300, c[0], c[1]); math.Abs(got-c[2]) > 5e-8 {
			t.Errorf("frame 400 × 300, Feret %v × %v: %.7f, want %.7f", c[0], c[1], got, c[2])
		}
	}
}

func TestStoverAndKernelSize(t *testing.T) {
	for _, c := range []struct {
		name          string
		o             []XY
		kernel        bool
		length, width float64
	}{
		{"kernel", ellipse(12, 8, 400), true, 12, 8},
		{"stalk", rectangle(20, 5), false, 20, 5},
		{"bent leaf", strip(arc(15, 30), 4, 0), false, 30, 4},
		{"scrap", rectangle(7, 5), false, math.Sqrt(74), 35 / math.Sqrt(74)},
		{"triangular scrap", []XY{{0, 0}, {10, 0}, {5, 5 * math.Sqrt(3)}}, false, 10, 2.5 * math.Sqrt(3)},
		{"splinter", []XY{{0, -2}, {0, 2}, {20, 0}}, false, 20, 2},
		{"nothing", nil, false, 0, 0},
	} {
		l, w := LengthWidth(turned(c.o, 1), c.kernel)
		if !near(l, c.length, 0.002) || !near(w, c.width, 0.002) {
			t.Errorf("%s: %.3f × %.3f, want %.3f × %.3f", c.name, l, w, c.length, c.width)
		}
	}
}
