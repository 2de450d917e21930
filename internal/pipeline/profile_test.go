package pipeline

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"gristmark/calib"
	"gristmark/internal/intake"
	"gristmark/internal/result"
)

func testProfile() CameraProfile {
	return CameraProfile{
		Schema: ProfileSchema, Make: "Plain", Model: "P 12", WidthPx: 4000, HeightPx: 3000,
		FocalXPx: 3000, FocalYPx: 3010, CentreXPx: 2020, CentreYPx: 1490, Distortion: [5]float64{-0.1, 0.02, 0.001, -0.002, 0},
	}
}

func read(t *testing.T, p CameraProfile) (*CameraProfile, error) {
	t.Helper()
	data, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	return ReadProfile(data)
}

// project is OpenCV's camera model, written out again.
func project(l calib.Lens, x, y float64) result.XY {
	d := l.Distortion
	r2 := x*x + y*y
	radial := 1 + d[0]*r2 + d[1]*r2*r2 + d[4]*r2*r2*r2
	u := x*radial + 2*d[2]*x*y + d[3]*(r2+2*x*x)
	v := y*radial + d[2]*(r2+2*y*y) + 2*d[3]*x*y
	return result.XY{l.CentreXPx + l.FocalXPx*u, l.CentreYPx + l.FocalYPx*v}
}

// A direction that the stored picture shows at a px must be shown by the upright picture at that px turned.
func TestLensTurnsWithThePhoto(t *testing.T) {
	p, err := read(t, testProfile())
	if err != nil {
		t.Fatal(err)
	}
	const w, h = 2000.0, 1500.0 // half the profile's size
	stored, ok := p.Lens(&intake.Intake{Make: "Plain", Model: "P 12", WidthPx: w, HeightPx: h, Orientation: 1})
	if !ok {
		t.Fatal("the profile is not of its own camera")
	}
	turns := map[int]struct {
		px  func(x, y float64) result.XY // stored px to upright px
		dir func(x, y float64) (float64, float64)
	}{
		2: {func(x, y float64) result.XY { return result.XY{w - x, y} }, func(x, y float64) (float64, float64) { return -x, y }},
		3: {func(x, y float64) result.XY { return result.XY{w - x, h - y} }, func(x, y float64) (float64, float64) { return -x, -y }},
		4: {func(x, y float64) result.XY { return result.XY{x, h - y} }, func(x, y float64) (float64, float64) { return x, -y }},
		5: {func(x, y float64) result.XY { return result.XY{y, x} }, func(x, y float64) (float64, float64) { return y, x }},
		6: {func(x, y float64) result.XY { return result.XY{h - y, x} }, func(x, y float64) (float64, float64) { return -y, x }},
		7: {func(x, y float64) result.XY { return result.XY{h - y, w - x} }, func(x, y float64) (float64, float64) { return -y, -x }},
		8: {func(x, y float64) result.XY { return result.XY{y, w - x} }, func(x, y float64) (float64, float64) { return y, -x }},
	}
	for orientation, turn := range turns {
		in := &intake.Intake{WidthPx: w, HeightPx: h, Orientation: orientation}
		if orientation >= 5 {
			in.WidthPx, in.HeightPx = h, w
		}
		l, ok := p.Lens(in)
		if !ok {
			t.Fatalf("orientation %d: no lens", orientation)
		}
		for _, d := range [][2]float64{{0.2, 0.1}, {-0.3, 0.25}, {0.1, -0.2}} {
			at := project(stored, d[0], d[1])
			want := turn.px(at[0], at[1])
			got := project(l, first(turn.dir(d[0], d[1])), second(turn.dir(d[0], d[1])))
			if math.Hypot(got[0]-want[0], got[1]-want[1]) > 1e-9 {
				t.Errorf("orientation %d: %v at %v, want %v", orientation, d, got, want)
			}
		}
	}
}

func first(a, _ float64) float64  { return a }
func second(_, b float64) float64 { return b }

func TestProfileIsOfOneCamera(t *testing.T) {
	p, err := read(t, testProfile())
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		in   intake.Intake
		want bool
	}{
		{intake.Intake{WidthPx: 4000, HeightPx: 3000, Orientation: 1}, true},
		{intake.Intake{Make: "PLAIN ", WidthPx: 4000, HeightPx: 3000, Orientation: 1}, true},
		{intake.Intake{Make: "Other", WidthPx: 4000, HeightPx: 3000, Orientation: 1}, false},
		{intake.Intake{WidthPx: 4000, HeightPx: 2250, Orientation: 1}, false},
		{intake.Intake{WidthPx: 3000, HeightPx: 4000, Orientation: 1}, false},
	} {
		if _, ok := p.Lens(&c.in); ok != c.want {
			t.Errorf("%+v: %v, want %v", c.in, ok, c.want)
		}
	}
}

func TestReadProfileRefuses(t *testing.T) {
	for want, spoil := range map[string]func(p *CameraProfile){
		"schema":       func(p *CameraProfile) { p.Schema = "x" },
		"focal length": func(p *CameraProfile) { p.FocalXPx = 0 },
		"size":         func(p *CameraProfile) { p.WidthPx = 0 },
	} {
		p := testProfile()
		spoil(&p)
		if _, err := read(t, p); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", want, err)
		}
	}
	if _, err := ReadProfile([]byte("{")); err == nil {
		t.Error("half a file was read")
	}
}
