package estimate

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"gristmark/internal/kernel"
	"gristmark/internal/result"
)

var anyParticle = rapid.Custom(func(t *rapid.T) result.Particle {
	l := rapid.Float64Range(1, 60).Draw(t, "length")
	w := rapid.Float64Range(0.5, min(l, 15)).Draw(t, "width")
	p := result.Particle{LengthMM: l, WidthMM: w, AreaMM2: l * w * rapid.Float64Range(0.5, 1).Draw(t, "fill"), Weight: rapid.Float64Range(1, 3).Draw(t, "weight")}
	p.Class = rapid.SampledFrom([]result.Class{result.WholeKernel, result.BrokenKernel, result.Stover, result.Unsure}).Draw(t, "class")
	p.PWhole, p.PBroken, p.PStover = rapid.Float64Range(0, 1).Draw(t, "pw"), rapid.Float64Range(0, 1).Draw(t, "pb"), rapid.Float64Range(0, 1).Draw(t, "ps")
	p.CutByEdge = rapid.IntRange(0, 9).Draw(t, "cut") == 0
	return p
})

func anyPhotos(t *rapid.T) []result.Photo {
	var out []result.Photo
	for i := range rapid.IntRange(1, 3).Draw(t, "photos") {
		p := photo(string(rune('a'+i)), rapid.SliceOfN(anyParticle, 0, 40).Draw(t, "particles")...)
		out = append(out, p)
	}
	return out
}

// Shares lie in 0..100 with their interval around them; classes and box sum to 100; counts are within the particles.
func TestNumbersAreSane(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		photos := anyPhotos(t)
		s := Sample(photos, Options{Resamples: 60, Seed: rapid.Uint64().Draw(t, "seed")})
		shares := []*result.Estimate{s.Kernels.WholePct, s.Kernels.Passing475Pct}
		if b := s.Pieces.BoxPct; b != nil {
			shares = append(shares, &b.Top, &b.Middle, &b.Lower, &b.Pan)
			if sum := b.Top.Value + b.Middle.Value + b.Lower.Value + b.Pan.Value; math.Abs(sum-100) > 1e-6 {
				t.Fatalf("box sums to %g", sum)
			}
			c := s.Pieces.LengthClassesPct
			if sum := c.Over19 + c.From8 + c.From4 + c.Under4; math.Abs(sum-100) > 1e-6 {
				t.Fatalf("classes sum to %g", sum)
			}
			if g := s.Pieces.GeometricMeanMM; !(g.Low <= g.Value && g.Value <= g.High && g.Low > 0) || *s.Pieces.GeometricSD < 1 {
				t.Fatalf("lengths %+v %g", g, *s.Pieces.GeometricSD)
			}
		}
		for _, e := range shares {
			if e != nil && !(0 <= e.Low && e.Low <= e.Value && e.Value <= e.High && e.High <= 100 && e.Low < e.High && e.Level == 0.95) {
				t.Fatalf("interval %+v", *e)
			}
		}
	})
}

// Twice the millimetres are twice the length, with the same relative interval and spread.
func TestLengthsScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var small, large []result.Particle
		for _, p := range rapid.SliceOfN(anyParticle, 5, 40).Draw(t, "particles") {
			p.CutByEdge = false
			small = append(small, p)
			p.LengthMM, p.WidthMM, p.AreaMM2 = 2*p.LengthMM, 2*p.WidthMM, 4*p.AreaMM2
			large = append(large, p)
		}
		a := Sample([]result.Photo{photo("a", small...)}, Options{Resamples: 50}).Pieces
		b := Sample([]result.Photo{photo("a", large...)}, Options{Resamples: 50}).Pieces
		if a.GeometricMeanMM == nil || b.GeometricMeanMM == nil {
			return // fewer than three effective pieces
		}
		for what, r := range map[string]float64{
			"mean": b.GeometricMeanMM.Value / a.GeometricMeanMM.Value / 2, "low": b.GeometricMeanMM.Low / a.GeometricMeanMM.Low / 2,
			"high": b.GeometricMeanMM.High / a.GeometricMeanMM.High / 2, "s.d.": *b.GeometricSD / *a.GeometricSD,
		} {
			if math.Abs(r-1) > 1e-6 {
				t.Fatalf("%s changes by %g", what, r)
			}
		}
	})
}

// Kernels, the unbroken one and the smallest counted among them, cannot be scaled with the mesh; but a lot of larger pieces passes less.
func TestLargerPiecesPassLess(t *testing.T) {
	for grow, last := 1.0, 101.0; grow < 2.5; grow += 0.25 {
		var ps []result.Particle
		for w := 2.0; w < 6; w += 0.1 {
			ps = append(ps, kernelPiece(result.BrokenKernel, 1.3*w*grow, w*grow, w*w*grow*grow, 1))
		}
		got := Sample([]result.Photo{photo("a", ps...)}, Options{Kernel: kernel.Default()}).Kernels.Passing475Pct.Value
		if got > last {
			t.Errorf("pieces %g times as large: %g %% pass, before %g", grow, got, last)
		}
		last = got
	}
}

// Photos that happen to agree: the interval is never narrower than that of their particles pooled.
func TestAgreeingPhotosDoNotNarrow(t *testing.T) {
	a := mixedPhoto("a", 80, 9)
	photos := []result.Photo{a}
	for _, name := range []string{"b", "c", "d"} {
		p := a
		p.File = name
		photos = append(photos, p)
	}
	s := Sample(photos, Options{})
	var pooled []result.Particle
	for _, p := range photos {
		pooled = append(pooled, p.Particles...)
	}
	one := Sample([]result.Photo{photo("all", pooled...)}, Options{})
	for what, e := range map[string][2]*result.Estimate{
		"whole":   {s.Kernels.WholePct, one.Kernels.WholePct},
		"passing": {s.Kernels.Passing475Pct, one.Kernels.Passing475Pct},
		"length":  {s.Pieces.GeometricMeanMM, one.Pieces.GeometricMeanMM},
	} {
		// 1000 resamples know a width to 2.2 %; drawing within photos of equal content changes nothing else.
		if e[0].High-e[0].Low < 0.92*(e[1].High-e[1].Low) {
			t.Errorf("%s: %+v is narrower than %+v", what, e[0], e[1])
		}
	}
}

// Between two photos that differ the interval is Student's with one degree of freedom: it spans what they say and more.
func TestTwoPhotosThatDiffer(t *testing.T) {
	lengths := func(name string, mm float64) result.Photo {
		var ps []result.Particle
		for range 100 {
			ps = append(ps, straw(mm, 1))
		}
		return photo(name, ps...)
	}
	g := Sample([]result.Photo{lengths("a", 10), lengths("b", 10*math.Exp(0.2))}, Options{}).Pieces.GeometricMeanMM
	if g.Low > 10*math.Exp(-0.3) || g.High < 10*math.Exp(0.5) {
		t.Errorf("got %+v", g)
	}
}
