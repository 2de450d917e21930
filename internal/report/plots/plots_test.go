package plots

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"

	"gristmark/internal/estimate"
	"gristmark/internal/result"
	"gristmark/internal/stats"
)

// photos of one sample with a seeded spread of sizes: log-normal lengths of stover, kernels about the mesh.
func photos() []result.Photo {
	r := stats.Rand(7)
	var out []result.Photo
	for k := range 3 {
		p := result.Photo{File: fmt.Sprintf("%d.jpg", k), Status: result.Measured, Scale: &result.Scale{From: "card", MMPerPx: 0.05}}
		for range 80 {
			l, w := 9*math.Exp(0.6*r.NormFloat64()), 2+2*r.Float64()
			p.Particles = append(p.Particles, result.Particle{Class: result.Stover, PStover: 1, LengthMM: l, WidthMM: w, AreaMM2: l * w, Weight: 1})
		}
		for range 60 {
			w := math.Exp(1.3 + 0.4*r.NormFloat64())
			q := result.Particle{Class: result.BrokenKernel, PBroken: 1, LengthMM: 1.3 * w, WidthMM: w, AreaMM2: w * w, Weight: 1}
			if w > 6 {
				q.Class, q.PWhole, q.PBroken = result.WholeKernel, 0.9, 0.1
			}
			p.Particles = append(p.Particles, q)
		}
		out = append(out, p)
	}
	return out
}

func series(n int) Series {
	r := stats.Rand(3)
	s := Series{Title: "Kernel mass through 4.75 mm", Y: "estimated share of kernel mass, %"}
	for i := range n {
		v := 66 + 4*r.NormFloat64()
		if i == n-3 {
			v = 38
		}
		s.Names = append(s.Names, fmt.Sprintf("load %d", i+1))
		s.Values = append(s.Values, &result.Estimate{Value: v, Low: v - 6, High: v + 5, Level: 0.95})
	}
	target := 70.0
	s.Target, s.Most = &target, 100
	if n > 4 {
		s.Values[2] = nil
	}
	return s
}

// at reads the curve: the share of pieces up to mm.
func at(curve []point, mm float64) float64 {
	pct := 0.0
	for _, p := range curve {
		if p.mm <= mm {
			pct = p.pct
		}
	}
	return pct
}

// The curve goes through the length classes of the estimate. The tolerance is that of the pieces below the smallest
// counted size, which the estimate leaves out.
func TestLengthCurveMeetsTheClasses(t *testing.T) {
	list := photos()
	s := estimate.Sample(list, estimate.Options{})
	if s.Pieces == nil || s.Pieces.LengthClassesPct == nil {
		t.Fatal("no classes")
	}
	c, curve := s.Pieces.LengthClassesPct, lengthCurve(list)
	for mm, want := range map[float64]float64{4: c.Under4, 8: c.Under4 + c.From4, 19: 100 - c.Over19} {
		if got := at(curve, mm); math.Abs(got-want) > 0.5 {
			t.Errorf("up to %g mm: %.2f %%, want %.2f", mm, got, want)
		}
	}
}

// Copies, refused photos and pieces cut by the edge do not move the curve, and two shots of one spread count as one.
func TestOnlyWhatCountsIsDrawn(t *testing.T) {
	list := photos()
	want := lengthCurve(list)
	copied, bad, shot := list[0], list[1], list[2]
	copied.File, copied.DuplicateOf = "copy.jpg", "0.jpg"
	bad.File, bad.Status = "bad.jpg", result.Refused
	shot.File, shot.SameSpreadAs = "again.jpg", "2.jpg"
	got := lengthCurve(append(list, copied, bad, shot))
	for _, mm := range []float64{4, 8, 19} {
		if math.Abs(at(got, mm)-at(want, mm)) > 1e-9 {
			t.Errorf("up to %g mm: %g, want %g", mm, at(got, mm), at(want, mm))
		}
	}
	list[0].Particles[0].CutByEdge = true
	if len(lengthCurve(list)) != len(want)-1 {
		t.Error("a piece cut by the edge is drawn")
	}
}

func TestKernelBins(t *testing.T) {
	kernel := func(width, whole float64) result.Particle {
		return result.Particle{PWhole: whole, PBroken: 1 - whole, LengthMM: 9, WidthMM: width, AreaMM2: 10}
	}
	broken, whole := kernelBins([]result.Photo{{Status: result.Measured, Particles: []result.Particle{kernel(4.7, 0), kernel(4.8, 1), kernel(4.8, 0.5), {PStover: 1, LengthMM: 9, WidthMM: 2, AreaMM2: 50}}}})
	want := [][2]float64{4: {100. / 3, 0}, 5: {100. / 6, 50}}
	for i, w := range want {
		if math.Abs(broken[i]-w[0]) > 1e-9 || math.Abs(whole[i]-w[1]) > 1e-9 {
			t.Errorf("bin %d: %g and %g, want %v", i, broken[i], whole[i], w)
		}
	}
}

func TestOutOfControl(t *testing.T) {
	s := series(20)
	for i, out := range s.Out() {
		if out != (i == 17) {
			t.Errorf("sample %d: beyond the limits %v", i+1, out)
		}
	}
}

func TestEqualValuesAreInControl(t *testing.T) {
	s := Series{}
	for range 12 {
		s.Values = append(s.Values, &result.Estimate{Value: 10.2})
	}
	for i, out := range s.Out() {
		if out {
			t.Errorf("sample %d is beyond the limits of equal values", i+1)
		}
	}
}

func TestNothingToDraw(t *testing.T) {
	for name, draw := range map[string]func() (Chart, error){
		"lengths": func() (Chart, error) { return Lengths(nil, nil, nil) },
		"kernels": func() (Chart, error) { return Kernels(nil, nil) },
		"run":     func() (Chart, error) { return Run(nil, Series{Names: []string{"a"}, Values: []*result.Estimate{nil}}) },
	} {
		if _, err := draw(); !errors.Is(err, ErrNothing) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Every chart is a picture and a well-formed drawing, the same each time. With GRISTMARK_PLOTS set to a folder they are
// left there to be looked at.
func TestChartsAreDrawn(t *testing.T) {
	for name, draw := range map[string]func() (Chart, error){
		"lengths":  func() (Chart, error) { return Lengths(nil, photos(), &Range{8.5, 20}) },
		"kernels":  func() (Chart, error) { return Kernels(nil, photos()) },
		"run":      func() (Chart, error) { return Run(nil, series(24)) },
		"run-few":  func() (Chart, error) { return Run(nil, series(3)) },
		"run-one":  func() (Chart, error) { return Run(nil, series(1)) },
		"box":      func() (Chart, error) { return Box(nil, groups(4)) },
		"box-many": func() (Chart, error) { return Box(nil, groups(9)) },
		"lab":      func() (Chart, error) { return laboratory(nil) },
		"de-us":    func() (Chart, error) { return Lengths(germanUS(), photos(), &Range{8.5, 20}) },
		"de-k":     func() (Chart, error) { return Kernels(germanUS(), photos()) },
		"run-many": func() (Chart, error) { return Run(nil, series(300)) },
	} {
		c, err := draw()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		picture, err := c.PNG(110)
		if err != nil {
			t.Fatal(err)
		}
		if img, err := png.Decode(bytes.NewReader(picture)); err != nil || img.Bounds().Dx() < 700 {
			t.Errorf("%s: no picture: %v", name, err)
		}
		svg, err := c.InlineSVG()
		if err != nil || !bytes.HasPrefix(svg, []byte("<svg")) {
			t.Fatalf("%s: no drawing: %v", name, err)
		}
		d := xml.NewDecoder(bytes.NewReader(svg))
		for err == nil {
			_, err = d.Token()
		}
		if err != io.EOF {
			t.Errorf("%s: the drawing is not well formed: %v", name, err)
		}
		again, _ := draw()
		if same, _ := again.InlineSVG(); !bytes.Equal(svg, same) {
			t.Errorf("%s: drawn again it differs", name)
		}
		if dir := os.Getenv("GRISTMARK_PLOTS"); dir != "" {
			if err := os.WriteFile(filepath.Join(dir, name+".png"), picture, 0o644); err != nil {
				t.Error(err)
			}
		}
	}
}
