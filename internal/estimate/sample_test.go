package estimate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"gristmark/internal/kernel"
	"gristmark/internal/result"
)

func kernelPiece(class result.Class, length, width, area, p float64) result.Particle {
	q := result.Particle{Class: class, Probability: p, LengthMM: length, WidthMM: width, AreaMM2: area, Weight: 1}
	if class == result.WholeKernel {
		q.PWhole, q.PBroken = p, 1-p
	} else {
		q.PBroken, q.PWhole = p, 1-p
	}
	return q
}

func straw(length, width float64) result.Particle {
	return result.Particle{Class: result.Stover, Probability: 1, PStover: 1, LengthMM: length, WidthMM: width, AreaMM2: length * width, Weight: 1}
}

func photo(name string, particles ...result.Particle) result.Photo {
	for i := range particles {
		particles[i].ID = i + 1
	}
	return result.Photo{File: name, Status: result.Measured, Scale: &result.Scale{MMPerPx: 0.06, RelativeSD: 0.004}, Particles: particles}
}

// mixedPhoto draws n particles, a third of them stover.
func mixedPhoto(name string, n int, seed uint64) result.Photo {
	r := rand.New(rand.NewPCG(seed, 7))
	var out []result.Particle
	for range n {
		switch u := r.Float64(); {
		case u < 0.33:
			out = append(out, straw(10*math.Exp(0.6*r.NormFloat64()), 1+2*r.Float64()))
		case u < 0.45:
			out = append(out, kernelPiece(result.WholeKernel, 10.5+r.NormFloat64(), 7.3+0.6*r.NormFloat64(), 60+5*r.NormFloat64(), 0.95))
		default:
			w := 2 + 5*r.Float64()
			out = append(out, kernelPiece(result.BrokenKernel, w*1.3, w, w*w, 0.97))
		}
	}
	return photo(name, out...)
}

func TestNothingMeasured(t *testing.T) {
	why := "blurred"
	if got := Sample([]result.Photo{{File: "a", Status: result.Refused, Problem: &why, Particles: []result.Particle{straw(10, 2)}}}, Options{}); got != nil {
		t.Errorf("a refused photo gave %+v", got)
	}
	if got := Sample(nil, Options{}); got != nil {
		t.Errorf("no photo gave %+v", got)
	}
	s := Sample([]result.Photo{photo("empty")}, Options{})
	if s == nil || s.Kernels.WholePct != nil || s.Kernels.Passing475Pct != nil || s.Pieces.GeometricMeanMM != nil || s.Pieces.BoxPct != nil {
		t.Errorf("an empty tray gave %+v", s)
	}
}

// Twelve whole kernels and none broken: 100 %, and an interval that says what twelve can say (Wilson 12/12: 75.7 to 100).
func TestAllWholeKeepsAWidth(t *testing.T) {
	var ps []result.Particle
	for range 12 {
		ps = append(ps, kernelPiece(result.WholeKernel, 10.5, 7.3, 60, 1))
	}
	k := Sample([]result.Photo{photo("a", ps...)}, Options{}).Kernels
	if k.Whole != 12 || k.Broken != 0 || k.WholePct.Value != 100 || k.WholePct.High != 100 {
		t.Fatalf("got %+v %+v", k, k.WholePct)
	}
	if k.WholePct.Low < 60 || k.WholePct.Low > 76 {
		t.Errorf("low end %g, want between 60 and Wilson's 75.7", k.WholePct.Low)
	}
	if k.Passing475Pct.Value > 12 || k.Passing475Pct.High < 5 {
		t.Errorf("unbroken kernels pass: %+v", k.Passing475Pct)
	}
	if k.UnbrokenFrom != kernel.FromSample {
		t.Errorf("unbroken kernel from %q, want sample", k.UnbrokenFrom)
	}
}

// Small pieces all pass.
func TestAllSmallPass(t *testing.T) {
	var ps []result.Particle
	for range 30 {
		ps = append(ps, kernelPiece(result.BrokenKernel, 5, 3, 12, 1))
	}
	k := Sample([]result.Photo{photo("a", ps...)}, Options{}).Kernels
	if k.Passing475Pct.Value != 100 || k.Passing475Pct.Low > 95 || k.Passing475Pct.Low < 80 {
		t.Errorf("got %+v", k.Passing475Pct)
	}
	if k.WholePct.Value != 0 || k.WholePct.High > 14 || k.WholePct.High < 8 {
		t.Errorf("whole %+v", k.WholePct)
	}
}

// A stubby piece a standard deviation above the bound of a class lies in it with a chance of 84 %, a slender one of that length as good as surely;
// one on the bound counts half.
func TestLengthNearTheBoundOfAClass(t *testing.T) {
	for _, c := range []struct{ length, width, over19 float64 }{
		{19 * math.Exp(0.02), 19 * math.Exp(0.02) / 2, 84.134}, {19 * math.Exp(0.02), 1, 100}, {19, 2, 50}, {19 * math.Exp(-0.02), 19 * math.Exp(-0.02) / 2, 15.866},
	} {
		var ps []result.Particle
		for range 20 {
			ps = append(ps, straw(c.length, c.width))
		}
		got := Sample([]result.Photo{photo("a", ps...)}, Options{}).Pieces.LengthClassesPct
		if math.Abs(got.Over19-c.over19) > 0.01 || math.Abs(got.Over19+got.From8-100) > 1e-6 {
			t.Errorf("%.2f × %.2f mm: %+v, want %.2f over 19 mm and the rest below", c.length, c.width, got, c.over19)
		}
	}
}

// Equal straws: the geometric mean is their length, the s.d. 1, the class theirs; half of those 1.45 holes long stay.
func TestEqualStraws(t *testing.T) {
	var ps []result.Particle
	for range 50 {
		ps = append(ps, straw(1.45*8, 1))
	}
	p := Sample([]result.Photo{photo("a", ps...)}, Options{}).Pieces
	if p.N != 50 || math.Abs(p.GeometricMeanMM.Value-11.6) > 1e-9 || math.Abs(*p.GeometricSD-1) > 1e-9 || p.LengthClassesPct.From8 != 100 {
		t.Errorf("got %+v %+v", p, p.LengthClassesPct)
	}
	if m := p.BoxPct.Middle.Value; math.Abs(m-50) > 4 {
		t.Errorf("middle %g, want half less what rides on the top sieve", m)
	}
	// All equal: what is left is the scale's 0.4 %.
	if w := math.Log(p.GeometricMeanMM.High / p.GeometricMeanMM.Low); w < 2*1.9*0.004 || w > 2*2.3*0.004 {
		t.Errorf("width %g of equal straws", w)
	}
}

func TestCopiesCountOnce(t *testing.T) {
	a, b := mixedPhoto("a", 120, 1), mixedPhoto("b", 90, 2)
	copied := a
	copied.File, copied.DuplicateOf = "c", "a"
	want := Sample([]result.Photo{a, b}, Options{})
	got := Sample([]result.Photo{a, b, copied}, Options{})
	got.Notes, want.Notes = nil, nil
	if !reflect.DeepEqual(got, want) {
		t.Errorf("a copy changed the sample:\n%+v\n%+v", got.Kernels, want.Kernels)
	}
}

// A second shot of the spread, pooled, neither narrows the intervals nor doubles the counts.
func TestShotsOfOneSpread(t *testing.T) {
	a := mixedPhoto("a", 200, 3)
	again := a
	again.File, again.SameSpreadAs = "b", "a"
	one, two := Sample([]result.Photo{a}, Options{}), Sample([]result.Photo{a, again}, Options{})
	if one.Kernels.Whole != two.Kernels.Whole || one.Pieces.N != two.Pieces.N {
		t.Errorf("counts %+v and %+v", one.Kernels, two.Kernels)
	}
	for what, e := range map[string][2]*result.Estimate{
		"whole":   {one.Kernels.WholePct, two.Kernels.WholePct},
		"passing": {one.Kernels.Passing475Pct, two.Kernels.Passing475Pct},
		"length":  {one.Pieces.GeometricMeanMM, two.Pieces.GeometricMeanMM},
	} {
		if math.Abs(e[0].Value-e[1].Value) > 1e-9 {
			t.Errorf("%s moved from %g to %g", what, e[0].Value, e[1].Value)
		}
		// The s.d. of 1000 resamples is itself known to 2.2 %.
		if r := (e[1].High - e[1].Low) / (e[0].High - e[0].Low); r < 0.9 || r > 1.15 {
			t.Errorf("%s: width changed by %g", what, r)
		}
	}
}

func TestOrderDoesNotMatter(t *testing.T) {
	a, b := mixedPhoto("a", 150, 4), mixedPhoto("b", 60, 5)
	want := Sample([]result.Photo{a, b}, Options{})
	turned := a
	turned.Particles = slices.Clone(a.Particles)
	slices.Reverse(turned.Particles)
	got := Sample([]result.Photo{b, turned}, Options{})
	if !reflect.DeepEqual(got, want) {
		t.Errorf("order matters:\n%+v\n%+v", got.Kernels.Passing475Pct, want.Kernels.Passing475Pct)
	}
}

func TestShowLeavesOut(t *testing.T) {
	a := mixedPhoto("a", 100, 6)
	if s := Sample([]result.Photo{a}, Options{Show: ShowKernels}); s.Pieces.GeometricMeanMM != nil || s.Kernels.WholePct == nil || s.Pieces.N == 0 {
		t.Errorf("kernels: %+v", s.Pieces)
	}
	if s := Sample([]result.Photo{a}, Options{Show: ShowPieces}); s.Kernels.Passing475Pct != nil || s.Kernels.WholePct != nil || s.Pieces.BoxPct == nil || s.Kernels.Whole == 0 {
		t.Errorf("pieces: %+v", s.Kernels)
	}
}

// What the frame cuts counts only where the whole field is in view.
func TestCutByEdge(t *testing.T) {
	whole, cut := kernelPiece(result.WholeKernel, 10, 7, 55, 1), kernelPiece(result.BrokenKernel, 6, 5, 25, 1)
	cut.CutByEdge = true
	if k := Sample([]result.Photo{photo("a", whole, cut)}, Options{}).Kernels; k.Broken != 1 || k.WholePct.Value != 50 {
		t.Errorf("field in view: %+v", k)
	}
	whole.Weight = 1.2
	if k := Sample([]result.Photo{photo("a", whole, cut)}, Options{}).Kernels; k.Broken != 0 || k.WholePct.Value != 100 {
		t.Errorf("field cut: %+v", k)
	}
}

func TestShares(t *testing.T) {
	ps := []result.Photo{photo("a", kernelPiece(result.BrokenKernel, 6, 5, kernel.Default().AreaMM2/2, 1), straw(10, 2), kernelPiece(result.WholeKernel, 12, 9, 90, 1))}
	Shares(ps, Options{})
	got := ps[0].Particles
	if math.Abs(*got[0].KernelShare-0.5) > 1e-9 || got[1].KernelShare != nil || *got[2].KernelShare != 1 {
		t.Errorf("shares %v %v %v", *got[0].KernelShare, got[1].KernelShare, *got[2].KernelShare)
	}
}

// Stalks with a small chance to be a kernel add to the number of kernels by that chance, and nothing to their mass.
func TestStalksDoNotWeighAsKernels(t *testing.T) {
	ps := []result.Particle{}
	for range 20 {
		ps = append(ps, kernelPiece(result.BrokenKernel, 5, 4, 16, 1), kernelPiece(result.WholeKernel, 10.5, 7.3, 60, 1))
	}
	want := Sample([]result.Photo{photo("a", ps...)}, Options{}).Kernels
	for range 30 {
		stalk := straw(80, 12)
		stalk.PStover, stalk.PBroken = 0.98, 0.02
		ps = append(ps, stalk)
	}
	got := Sample([]result.Photo{photo("a", ps...)}, Options{}).Kernels
	if math.Abs(got.Passing475Pct.Value-want.Passing475Pct.Value) > 1e-9 {
		t.Errorf("stalks moved the passing share from %g to %g", want.Passing475Pct.Value, got.Passing475Pct.Value)
	}
	if r := got.WholePct.Value / (100 * 20 / 40.6); math.Abs(r-1) > 1e-9 {
		t.Errorf("whole %g, want 20 of 40.6", got.WholePct.Value)
	}
}

func TestSmallestCounted(t *testing.T) {
	coarse := photo("a")
	coarse.Scale.MMPerPx = 0.25
	if got := SmallestMM([]result.Photo{photo("b"), coarse}); got != 1.5 {
		t.Errorf("got %g, want 1.5", got)
	}
	if got := SmallestMM([]result.Photo{photo("b")}); got != 0.9 {
		t.Errorf("got %g, want 0.9", got)
	}
}

func BenchmarkSample(b *testing.B) {
	p := []result.Photo{mixedPhoto("a", 2000, 1)}
	for b.Loop() {
		if Sample(p, Options{}).Kernels.WholePct == nil {
			b.Fatal(fmt.Errorf("no estimate"))
		}
	}
}

// A kernel measured on unbroken ones of the hybrid is not moved by a sample's, and is named; any other is.
func TestMeasuredKernelStands(t *testing.T) {
	var ps []result.Particle
	for range 30 {
		ps = append(ps, kernelPiece(result.WholeKernel, 10.5, 7.3, 60, 1))
	}
	u := kernel.Unbroken{LengthMM: 12, WidthMM: 8, ThicknessMM: 5, AreaMM2: 75, From: "stored kernel x", Measured: true}
	got := Sample([]result.Photo{photo("a", ps...)}, Options{Kernel: u}).Kernels
	if got.UnbrokenAreaMM2 != 75 || got.UnbrokenFrom != "stored kernel x" {
		t.Errorf("%g mm² from %q", got.UnbrokenAreaMM2, got.UnbrokenFrom)
	}
	photos := []result.Photo{photo("a", ps...)}
	Shares(photos, Options{Kernel: u})
	if share := *photos[0].Particles[0].KernelShare; math.Abs(share-0.8) > 1e-12 {
		t.Errorf("share %g, want 60 / 75", share)
	}
	u.Measured = false
	if got := Sample([]result.Photo{photo("a", ps...)}, Options{Kernel: u}).Kernels; got.UnbrokenAreaMM2 > 70 || got.UnbrokenFrom != kernel.FromSample {
		t.Errorf("%g mm² from %q", got.UnbrokenAreaMM2, got.UnbrokenFrom)
	}
}
