package kernels

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gristmark/internal/result"
)

// drop is a kernel's outline, mm: a half ellipse for the crown on a triangle for the tip, length by width, turned.
func drop(length, width, angle float64) []result.XY {
	var out []result.XY
	crown := length / 3
	for k := 0; k <= 16; k++ {
		a := math.Pi/2 - math.Pi*float64(k)/16
		out = append(out, result.XY{crown * math.Cos(a), width / 2 * math.Sin(a)})
	}
	out = append(out, result.XY{crown - length, 0})
	sin, cos := math.Sincos(angle)
	for i, p := range out {
		out[i] = result.XY{p[0]*cos - p[1]*sin + 50, p[0]*sin + p[1]*cos + 20}
	}
	return out
}

func grain(id int, class result.Class, length, width float64) result.Particle {
	q := result.Particle{ID: id, Class: class, Probability: 0.9, LengthMM: length, WidthMM: width, MaxFeretMM: length, MinFeretMM: width,
		AreaMM2: 0.78 * length * width, AtPx: result.XY{float64(10 * id), 5}, OutlineMM: drop(length, width, float64(id))}
	switch class {
	case result.WholeKernel:
		q.PWhole, q.PBroken = 0.9, 0.1
	case result.BrokenKernel:
		q.PWhole, q.PBroken = 0.1, 0.9
	case result.Unsure:
		q.PWhole, q.PBroken = 0.5, 0.5
	default:
		q.PStover = 1
	}
	return q
}

// card is a photo of n unbroken kernels of 11 x 7.5 mm with standard deviations of 0.8 and 0.6 mm, and what is added.
func card(n int, more ...result.Particle) result.Photo {
	r := rand.New(rand.NewPCG(1, 2))
	at := "2026-09-20T08:00:00+02:00"
	p := result.Photo{File: "some/where/a.jpg", Status: result.Measured, TakenAt: &at, Scale: &result.Scale{From: "card"}}
	for i := range n {
		p.Particles = append(p.Particles, grain(i+1, result.WholeKernel, 11+0.8*r.NormFloat64(), 7.5+0.6*r.NormFloat64()))
	}
	for _, q := range more {
		q.ID = len(p.Particles) + 1
		p.Particles = append(p.Particles, q)
	}
	return p
}

func noColour(Piece) ([3]float64, bool) { return [3]float64{}, false }

func TestMake(t *testing.T) {
	cut, speck := grain(0, result.BrokenKernel, 9, 6), grain(0, result.Stover, 1, 0.7)
	cut.CutByEdge = true
	photo := card(20, grain(0, result.Unsure, 10.5, 7), grain(0, result.BrokenKernel, 6, 5), cut, speck)
	s, sorted, err := Make("LG 31.207", []result.Photo{photo}, func(q Piece) ([3]float64, bool) { return [3]float64{70 + float64(q.ID%2), 8, 60}, true })
	if err != nil {
		t.Fatal(err)
	}
	// The means of 21 are known to a fifth of the standard deviation.
	if s.N != 21 || math.Abs(s.LengthMM.Mean-11) > 0.5 || math.Abs(s.WidthMM.Mean-7.5) > 0.4 || s.LengthMM.SD < 0.5 || s.LengthMM.SD > 1.1 {
		t.Errorf("got %+v", s)
	}
	if len(sorted.Broken) != 1 || sorted.Cut != 1 || len(sorted.Other) != 0 {
		t.Errorf("sorted %d broken, %d cut, %d others", len(sorted.Broken), sorted.Cut, len(sorted.Other))
	}
	if s.ThicknessMM < 0.6*s.WidthMM.Mean || s.ThicknessMM > 0.66*s.WidthMM.Mean || !strings.Contains(s.ThicknessFrom, "assumed") {
		t.Errorf("thickness %g: %s", s.ThicknessMM, s.ThicknessFrom)
	}
	if s.Photos[0] != "a.jpg" || s.TakenAt != *photo.TakenAt || s.Ruler != "card" || s.Colour == nil || math.Abs(s.Colour.L.Mean-70.5) > 0.1 || s.Colour.B.SD != 0 {
		t.Errorf("got %+v, colour %+v", s, s.Colour)
	}
	data, err := s.Write()
	if err != nil {
		t.Fatal(err)
	}
	back, err := Read(data)
	if err != nil || back.LengthMM != s.LengthMM || len(back.Outline) != len(s.Outline) || *back.Colour != *s.Colour {
		t.Errorf("read back %+v, %v", back, err)
	}
}

func TestMakeRefuses(t *testing.T) {
	broken, straw, twin := grain(0, result.BrokenKernel, 6, 5), grain(0, result.Stover, 20, 3), grain(0, result.WholeKernel, 15, 12)
	uneven := card(14)
	for i := range uneven.Particles {
		uneven.Particles[i].AreaMM2 *= 0.8 + 0.6*float64(i%2)
	}
	far := card(20)
	for i := range far.Particles {
		q := &far.Particles[i]
		q.MaxFeretMM, q.MinFeretMM, q.AreaMM2 = 2*q.MaxFeretMM, 2*q.MinFeretMM, 4*q.AreaMM2
	}
	large := card(20)
	for i := range large.Particles {
		q := &large.Particles[i]
		q.Class, q.MaxFeretMM, q.MinFeretMM = result.Stover, 2*q.MaxFeretMM, 2*q.MinFeretMM
	}
	for name, c := range map[string]struct {
		photo result.Photo
		want  string
	}{
		"too few":   {card(8), "only 8 whole kernels"},
		"none":      {card(0), "no kernel in the photo"},
		"broken":    {card(16, broken, broken, broken, broken), "4 of 20 kernels look broken (number 17"},
		"straws":    {card(15, straw, straw, straw, straw), "4 of 19 pieces are no kernels"},
		"touching":  {card(15, twin, twin, twin), "3 pieces are far larger"},
		"spread":    {uneven, "differ too much"},
		"ruler":     {far, "check the ruler"},
		"large":     {large, "20 of 20 pieces are no kernels, most of them wider than 12 mm, as maize kernels never are (number 1"},
		"only bits": {card(0, broken, broken, broken, broken, broken, broken, broken, broken, broken, broken, broken, broken, broken), "look broken"},
	} {
		if _, _, err := Make("x", []result.Photo{c.photo}, noColour); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %q", name, err, c.want)
		}
	}
	for _, name := range []string{"", " x", "a/b", "10.5x7x4.6", "10x7x4mm", ".x", strings.Repeat("x", 61), "a\nb"} {
		if _, _, err := Make(name, []result.Photo{card(20)}, noColour); err == nil {
			t.Errorf("the name %q was taken", name)
		}
	}
	if err := CheckName("8521"); err != nil {
		t.Errorf("a number is a name: %v", err)
	}
}

func TestReadRefusesWhatIsNoKernel(t *testing.T) {
	s, _, err := Make("x", []result.Photo{card(20)}, noColour)
	if err != nil || s.Colour != nil {
		t.Fatal(err, s.Colour)
	}
	for _, spoil := range []func(*Stored){
		func(s *Stored) { s.Schema = "gristmark.kernel/9" }, func(s *Stored) { s.LengthMM.Mean = 40 }, func(s *Stored) { s.WidthMM.Mean = 0 },
		func(s *Stored) { s.ThicknessMM = -1 }, func(s *Stored) { s.AreaMM2.Mean = 5 }, func(s *Stored) { s.Name = "../x" }, func(s *Stored) { s.AreaMM2.SD = 60 },
	} {
		bad := s
		spoil(&bad)
		data, _ := bad.Write()
		if _, err := Read(data); err == nil {
			t.Errorf("%+v was read", bad)
		}
	}
	if _, err := Read([]byte("{")); err == nil {
		t.Error("half a file was read")
	}
}

// The profile neither depends on size, turn, place nor side; the tip is farther from the centroid than the crown, and its mean square is about
// that of the circle of equal area.
func TestProfile(t *testing.T) {
	want := Profile(drop(11, 7.5, 0))
	if len(want) != directions/2+1 || want[0] >= want[len(want)-1] {
		t.Fatalf("profile %v", want)
	}
	rapid.Check(t, func(t *rapid.T) {
		grow := rapid.Float64Range(0.5, 2).Draw(t, "grow")
		o := drop(11*grow, 7.5*grow, rapid.Float64Range(0, 6.3).Draw(t, "angle"))
		if rapid.Bool().Draw(t, "mirrored") {
			for i := range o {
				o[i][0] = -o[i][0]
			}
		}
		for k, r := range Profile(o) {
			if math.Abs(r-want[k]) > 1e-6 {
				t.Fatalf("direction %d: %g, want %g", k, r, want[k])
			}
		}
	})
	sum := 0.0
	for k, r := range want {
		w := 2.0
		if k == 0 || k == len(want)-1 {
			w = 1
		}
		sum += w * r * r / directions
	}
	if math.Abs(sum-1) > 0.03 {
		t.Errorf("mean square radius %g", sum)
	}
	if Profile(nil) != nil {
		t.Error("an outline of nothing has a profile")
	}
}

// L*a*b* of sRGB primaries as published with CIE 15 and IEC 61966-2-1 (Lindbloom's tables): red 53.24, 80.09, 67.20; white 100, 0, 0.
func TestMeanLab(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 40, 40))
	for i := range 1600 {
		c := color.NRGBA{255, 255, 255, 255}
		if i%40 >= 20 {
			c = color.NRGBA{255, 0, 0, 255}
		}
		img.SetNRGBA(i%40, i/40, c)
	}
	square := func(x float64) []result.XY { return []result.XY{{x, 10}, {x + 20, 10}, {x + 20, 30}, {x, 30}} }
	for x, want := range map[float64][3]float64{10: {100, 0, 0}, 50: {53.24, 80.09, 67.2}, 30: {76.62, 40.05, 33.6}} {
		got, ok := MeanLab(img, square(x), 2) // in px of a picture twice as large
		for k := range got {
			if !ok || math.Abs(got[k]-want[k]) > 0.05 {
				t.Errorf("at %g: %v, want %v", x, got, want)
			}
		}
	}
	if _, ok := MeanLab(img, square(500), 2); ok {
		t.Error("outside the picture there is a colour")
	}
}
