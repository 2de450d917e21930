package vision

import (
	"image"
	"image/color"
	"math"
	"testing"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// level is a plane seen from straight above, at mm per px.
type level float64

func (f level) ToMM(p result.XY) result.XY                { return result.XY{p[0] * float64(f), p[1] * float64(f)} }
func (f level) ToPx(p result.XY) result.XY                { return result.XY{p[0] / float64(f), p[1] / float64(f)} }
func (f level) MMPerPxAt(result.XY) float64               { return float64(f) }
func (f level) Foot() (result.XY, float64, float64, bool) { return result.XY{}, 0, 0, false }

var (
	navy   = color.NRGBA{22, 34, 74, 255}
	yellow = color.NRGBA{226, 178, 62, 255}
	green  = color.NRGBA{120, 140, 60, 255}
)

// drawn lays outlines (mm) on a tray of one colour, mixed by area in linear light.
func drawn(w, h int, pxPerMM float64, tray color.NRGBA, outlines [][]result.XY, paint color.NRGBA) *image.NRGBA {
	return painted(w, h, covered(w, h, pxPerMM, outlines), tray, paint)
}

// covered is the share of each pixel that outlines (mm) cover.
func covered(w, h int, pxPerMM float64, outlines [][]result.XY) []float64 {
	cover := make([]float64, w*h)
	for _, o := range outlines {
		px := make([]result.XY, len(o))
		for i, p := range o {
			px[i] = result.XY{p[0] * pxPerMM, p[1] * pxPerMM}
		}
		for i, c := range shape.Rasterise([][]result.XY{px}, w, h) {
			cover[i] = math.Max(cover[i], float64(c)/255)
		}
	}
	return cover
}

func painted(w, h int, cover []float64, tray, paint color.NRGBA) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	mix := func(a, b uint8, t float64) uint8 {
		l := float64(linear[a])*(1-t) + float64(linear[b])*t
		v := l / 255
		if v <= 0.0031308 {
			return uint8(255*12.92*v + 0.5)
		}
		return uint8(255*(1.055*math.Pow(v, 1/2.4)-0.055) + 0.5)
	}
	for i, t := range cover {
		img.SetNRGBA(i%w, i/w, color.NRGBA{mix(tray.R, paint.R, t), mix(tray.G, paint.G, t), mix(tray.B, paint.B, t), 255})
	}
	return img
}

func analysed(t *testing.T, img image.Image, plane Plane, opt Options) *Analysis {
	t.Helper()
	p, err := FromImage(img, 1)
	if err != nil {
		t.Fatal(err)
	}
	defer p.Close()
	a, err := Analyse(p, plane, opt)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func turned(o []result.XY, angle float64, at result.XY) []result.XY {
	c, s := math.Cos(angle), math.Sin(angle)
	out := make([]result.XY, len(o))
	for i, p := range o {
		out[i] = result.XY{at[0] + p[0]*c - p[1]*s, at[1] + p[0]*s + p[1]*c}
	}
	return out
}

func rectangle(l, w float64) []result.XY {
	return []result.XY{{-l / 2, -w / 2}, {l / 2, -w / 2}, {l / 2, w / 2}, {-l / 2, w / 2}}
}

func ellipse(l, w float64) []result.XY {
	var o []result.XY
	for k := range 180 {
		a := 2 * math.Pi * float64(k) / 180
		o = append(o, result.XY{l / 2 * math.Cos(a), w / 2 * math.Sin(a)})
	}
	return o
}

// The exact shapes of ISO 9276-6 tables, through the whole raster path. Tolerances: an edge is found
// to about a tenth of a pixel, so 1.5 % of the area and 1 % of a length at 10 px/mm; corners are
// rounded by the smoothing of the outline, which takes up to 0.15 mm off a diagonal.
func TestExactShapesThroughTheRasterPath(t *testing.T) {
	const pxPerMM = 10.0
	cases := []struct {
		name                         string
		outline                      []result.XY
		area, maxFeret, minFeret, ax float64
	}{
		{"rectangle 20 x 5", rectangle(20, 5), 100, 20.615528, 5, 20},
		{"square 10", rectangle(10, 10), 100, 14.142136, 10, 0},
		{"ellipse 12 x 8", ellipse(12, 8), 75.398224, 12, 8, 0},
	}
	for _, c := range cases {
		var outlines [][]result.XY
		angles := []float64{0, 0.2, 0.5, 0.785, 1.1, 1.4}
		for k, a := range angles {
			outlines = append(outlines, turned(c.outline, a, result.XY{25 + 35*float64(k%3), 25 + 35*float64(k/3)}))
		}
		a := analysed(t, drawn(1200, 900, pxPerMM, navy, outlines, yellow), level(1/pxPerMM), DefaultOptions())
		if len(a.Particles) != len(outlines) {
			t.Errorf("%s: %d drawn, %d found, notes %v", c.name, len(outlines), len(a.Particles), a.Notes)
			continue
		}
		for _, p := range a.Particles {
			within(t, c.name+" area", p.AreaMM2, c.area, 0.015*c.area)
			within(t, c.name+" largest Feret", p.MaxFeretMM, c.maxFeret, 0.01*c.maxFeret+0.15)
			within(t, c.name+" smallest Feret", p.MinFeretMM, c.minFeret, 0.01*c.minFeret+0.1)
			if c.ax > 0 {
				within(t, c.name+" centreline", p.CentreLineMM, c.ax, 0.015*c.ax)
			}
		}
	}
}

func within(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.4f, want %.4f ± %.4f", what, got, want, tolerance)
	}
}

// Doubling mm per px doubles lengths and quadruples areas of the same picture.
func TestScalingLaw(t *testing.T) {
	outlines := [][]result.XY{turned(ellipse(11, 7), 0.4, result.XY{30, 30}), turned(rectangle(18, 6), 1, result.XY{70, 40})}
	img := drawn(1000, 800, 10, navy, outlines, yellow)
	one := analysed(t, img, level(0.1), DefaultOptions())
	opt := DefaultOptions()
	two := analysed(t, img, level(0.2), opt)
	if len(one.Particles) != 2 || len(two.Particles) != 2 {
		t.Fatalf("found %d and %d, want 2 each", len(one.Particles), len(two.Particles))
	}
	for i := range one.Particles {
		// the work image is reduced more at the coarser scale: 1 % for the other pixels
		within(t, "area", two.Particles[i].AreaMM2, 4*one.Particles[i].AreaMM2, 0.01*4*one.Particles[i].AreaMM2)
		within(t, "length", two.Particles[i].MaxFeretMM, 2*one.Particles[i].MaxFeretMM, 0.01*2*one.Particles[i].MaxFeretMM)
	}
}

// An empty tray has nothing on it, and says so.
func TestEmptyTrayIsRefused(t *testing.T) {
	a := analysed(t, drawn(800, 600, 8, navy, nil, yellow), level(1.0/8), DefaultOptions())
	if len(a.Particles) != 0 || a.Problem == "" {
		t.Fatalf("%d pieces on an empty tray, problem %q", len(a.Particles), a.Problem)
	}
}

// Two kernels that touch at a narrow neck are two; a bent leaf of one width is one.
func TestTouchingKernelsArePartedAndLeavesAreNot(t *testing.T) {
	kernels := [][]result.XY{turned(ellipse(11, 7.5), 0, result.XY{30, 30}), turned(ellipse(10, 7), 1.2, result.XY{37.6, 34.8})}
	a := analysed(t, drawn(900, 700, 10, navy, kernels, yellow), level(0.1), DefaultOptions())
	if len(a.Particles) != 2 {
		t.Errorf("two touching kernels are found as %d", len(a.Particles))
	}
	var leaf []result.XY
	for k := range 41 {
		b := math.Pi * float64(k) / 40
		leaf = append(leaf, result.XY{45 + 16*math.Cos(b), 30 + 16*math.Sin(b)})
	}
	for k := 40; k >= 0; k-- {
		b := math.Pi * float64(k) / 40
		leaf = append(leaf, result.XY{45 + 10*math.Cos(b), 30 + 10*math.Sin(b)})
	}
	a = analysed(t, drawn(900, 700, 10, navy, [][]result.XY{leaf}, green), level(0.1), DefaultOptions())
	if len(a.Particles) != 1 {
		t.Fatalf("a bent leaf is found as %d pieces", len(a.Particles))
	}
	within(t, "centreline of the bent leaf", a.Particles[0].CentreLineMM, math.Pi*13, 0.02*math.Pi*13)
}

// Straws that cross are two, a straw that butts against another's side is another, and a forked
// leaf stays one.
func TestCrossingStraws(t *testing.T) {
	cases := []struct {
		name     string
		outlines [][]result.XY
		want     int
	}{
		{"cross", [][]result.XY{turned(rectangle(40, 2), 0.3, result.XY{45, 35}), turned(rectangle(30, 1.6), 1.5, result.XY{48, 36})}, 2},
		{"oblique cross", [][]result.XY{turned(rectangle(40, 2), 0.2, result.XY{45, 35}), turned(rectangle(36, 2.4), 0.9, result.XY{42, 33})}, 2},
		{"three", [][]result.XY{turned(rectangle(44, 2), 0.1, result.XY{45, 35}), turned(rectangle(30, 1.6), 1.5, result.XY{36, 36}), turned(rectangle(30, 1.6), 1.2, result.XY{54, 36})}, 3},
		{"butting", [][]result.XY{turned(rectangle(40, 2), 0, result.XY{45, 30}), turned(rectangle(20, 2), math.Pi/2, result.XY{45, 40})}, 2},
	}
	for _, c := range cases {
		a := analysed(t, drawn(900, 700, 10, navy, c.outlines, green), level(0.1), DefaultOptions())
		if len(a.Particles) != c.want {
			t.Errorf("%s: %d straws are found as %d", c.name, c.want, len(a.Particles))
			continue
		}
		if c.name != "cross" {
			continue
		}
		for k, want := range []float64{40, 30} {
			got := a.Particles[k].CentreLineMM
			if other := a.Particles[1-k].CentreLineMM; math.Abs(other-want) < math.Abs(got-want) {
				got = other
			}
			within(t, "length through the crossing", got, want, 0.03*want)
		}
	}
	fork := []result.XY{{20, 33}, {45, 33}, {70, 22}, {72, 26}, {52, 36}, {72, 44}, {70, 48}, {45, 38}, {20, 37}}
	a := analysed(t, drawn(900, 700, 10, navy, [][]result.XY{fork}, green), level(0.1), DefaultOptions())
	if len(a.Particles) != 1 {
		t.Errorf("a forked leaf is found as %d pieces", len(a.Particles))
	}
}
