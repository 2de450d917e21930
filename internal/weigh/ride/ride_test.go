package ride

import (
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"gristmark/internal/plain"
	"gristmark/internal/result"
)

// photo shows so many whole kernels and halves, and as many crumbs.
func photo(name string, whole, large int) result.Photo {
	p := result.Photo{File: name, SHA256: name, Status: result.Measured}
	half, crumb, one := 0.5, 0.2, 1.0
	for range whole {
		p.Particles = append(p.Particles, result.Particle{Class: result.WholeKernel, KernelShare: &one, AreaMM2: 60, PWhole: 1})
	}
	for range large {
		p.Particles = append(p.Particles,
			result.Particle{Class: result.BrokenKernel, KernelShare: &half, AreaMM2: 30, PBroken: 1},
			result.Particle{Class: result.BrokenKernel, KernelShare: &crumb, AreaMM2: 12, PBroken: 1},
			result.Particle{Class: result.Stover, AreaMM2: 40, PStover: 1})
	}
	return p
}

func boxes() []Box {
	return []Box{
		{Name: "pan", MassG: 40, Photos: []result.Photo{photo("d", 0, 1)}},
		{Name: "top", OpeningMM: 19, MassG: 60, Photos: []result.Photo{photo("a", 1, 2)}},
		{Name: "middle", OpeningMM: 8, MassG: 300, ShownG: 100, Photos: []result.Photo{photo("b", 4, 6)}},
		{Name: "lower", OpeningMM: 4, MassG: 100, Photos: []result.Photo{photo("c", 0, 5)}},
	}
}

// 1 + 3·4 whole kernels and 2 + 3·6 + 5 + 1 large pieces in half a kilogram.
func TestMassWeighted(t *testing.T) {
	d, err := Build(boxes(), "fresh")
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(d.WholePerKg.Value-26) > 1e-9 || math.Abs(d.LargePerKg.Value-52) > 1e-9 {
		t.Errorf("%v whole and %v large a kg", d.WholePerKg.Value, d.LargePerKg.Value)
	}
	middle := d.Boxes[1]
	if middle.Box != "middle" || math.Abs(middle.WholePerKg.Value-40) > 1e-9 || math.Abs(*middle.WholeSharePct-100*12/13.) > 1e-9 {
		t.Errorf("%+v", middle)
	}
	// Exact Poisson of 4: 1.08987 to 10.24159, in 0.1 kg.
	if math.Abs(middle.WholePerKg.Low-10.8987) > 1e-3 || math.Abs(middle.WholePerKg.High-102.4159) > 1e-3 {
		t.Errorf("%+v", middle.WholePerKg)
	}
	if !strings.Contains(d.Conclusion, "92 % of the whole kernels ride in the middle box") {
		t.Error(d.Conclusion)
	}
	var b strings.Builder
	if err := d.WriteText(&b, nil); err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(b.String(), "\n") {
		if utf8.RuneCountInString(line) > plain.Columns {
			t.Errorf("too long: %q", line)
		}
	}
}

func TestBoxesNotLookedAt(t *testing.T) {
	in := boxes()
	in[0].Photos = nil
	problem := "blurred"
	in[3].Photos[0] = result.Photo{File: "c", SHA256: "c", Status: result.Refused, Problem: &problem}
	d, err := Build(in, "")
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(d.WholePerKg.Value-26) > 1e-9 || d.Boxes[2].Whole != nil || d.Boxes[3].Whole != nil || d.LookedAtG != 360 {
		t.Errorf("%+v", d)
	}
	if !strings.Contains(strings.Join(d.Notes, " "), "not looked at: lower, pan") {
		t.Error(d.Notes)
	}
	for i := range in {
		in[i].Photos = nil
	}
	if d, err = Build(in, ""); err != nil || d.WholePerKg != nil || !strings.HasPrefix(d.Conclusion, "Nothing to judge") {
		t.Errorf("%v %+v", err, d)
	}
}

func TestRefusedBoxes(t *testing.T) {
	for want, change := range map[string]func(b []Box){
		"the same box":         func(b []Box) { b[0].OpeningMM = 8 },
		"weighs nothing":       func(b []Box) { b[0].MassG = 0 },
		"more than there is":   func(b []Box) { b[0].ShownG = 41 },
		"photos of its own":    func(b []Box) { b[0].Photos[0].SHA256 = "a" },
		"negative":             func(b []Box) { b[0].MassG = -1 },
		"are they kilograms":   func(b []Box) { scale(b, 1e-3) },
		"are they milligrams?": func(b []Box) { scale(b, 1e3) },
	} {
		in := boxes()
		change(in)
		if _, err := Build(in, ""); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", want, err)
		}
	}
}

func scale(b []Box, f float64) {
	for i := range b {
		b[i].MassG, b[i].ShownG = b[i].MassG*f, b[i].ShownG*f
	}
}

// Shares of all kernels sum to 100, the order of boxes does not matter, and the sample's figure is the mass-weighted mean of the boxes'.
func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var in []Box
		for i, mm := range []float64{19, 8, 4, 0} {
			mass := rapid.Float64Range(5, 400).Draw(t, "mass")
			in = append(in, Box{Name: string(rune('a' + i)), OpeningMM: mm, MassG: mass, ShownG: mass * rapid.Float64Range(0.1, 1).Draw(t, "shown"),
				Photos: []result.Photo{photo(string(rune('a'+i)), rapid.IntRange(0, 9).Draw(t, "whole"), 1)}})
		}
		d, err := Build(in, "")
		if err != nil {
			t.Fatal(err)
		}
		sum, weighted := 0.0, 0.0
		for _, b := range d.Boxes {
			sum += *b.LargeSharePct
			weighted += b.WholePerKg.Value * b.MassG / d.TotalG
		}
		if math.Abs(sum-100) > 1e-6 || math.Abs(weighted-d.WholePerKg.Value) > 1e-6*(1+weighted) {
			t.Fatalf("shares sum to %v; %v and %v a kg", sum, weighted, d.WholePerKg.Value)
		}
		in[0], in[3] = in[3], in[0]
		again, err := Build(in, "")
		if err != nil || math.Abs(again.WholePerKg.High-d.WholePerKg.High) > 1e-9*d.WholePerKg.High || again.Conclusion != d.Conclusion {
			t.Fatalf("%v: the order of boxes matters", err)
		}
	})
}
