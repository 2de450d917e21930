package kernels

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gristmark/internal/result"
)

// yellow is a stored kernel of 20, 11 x 7.5 mm, with its colour against paper.
func yellow() Stored {
	return Stored{Schema: Schema, Name: "Y1", N: 20, LengthMM: Spread{11, 0.9}, WidthMM: Spread{7.5, 0.6}, AreaMM2: Spread{65, 8}, ThicknessMM: 4.7,
		OnWhite: &Colour{Spread{73, 4}, Spread{8, 2}, Spread{55, 5}}, WhiteFrom: WhitePaper}
}

// lot is a photo of n whole kernels drawn with the stored means and spreads, every length times grow and every colour changed.
func lot(r *rand.Rand, n int, grow float64, colour func(lab [3]float64) [3]float64) result.Photo {
	s := yellow()
	p := result.Photo{File: "a.jpg", Status: result.Measured, White: &result.White{From: WhitePaper, SRGB: [3]float64{0.9, 0.9, 0.8}}}
	draw := func(m Spread) float64 { return m.Mean + m.SD*r.NormFloat64() }
	for range n {
		lab := colour([3]float64{draw(s.OnWhite.L), draw(s.OnWhite.A), draw(s.OnWhite.B)})
		p.Particles = append(p.Particles, result.Particle{Class: result.WholeKernel, PWhole: 0.95, PBroken: 0.05, MaxFeretMM: grow * draw(s.LengthMM),
			MinFeretMM: grow * draw(s.WidthMM), AreaMM2: grow * grow * draw(s.AreaMM2), ColourLab: &lab})
	}
	return p
}

func asItIs(lab [3]float64) [3]float64 { return lab }

// exposed is a colour in light of strength k: L*+16, a* and b* go with its cube root.
func exposed(k float64) func([3]float64) [3]float64 {
	return func(lab [3]float64) [3]float64 {
		f := math.Cbrt(k)
		return [3]float64{f*(lab[0]+16) - 16, f * lab[1], f * lab[2]}
	}
}

// Kernels of the stored hybrid itself are doubted in one lot of a hundred at most: chance alone is in these, of the doubt in measuring nothing.
func TestOwnKernelsAreNotDoubted(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	doubted := 0
	for range 1000 {
		own := lot(r, 20, 1, asItIs) // the stored kernel of another twenty of the hybrid
		s, back := yellow(), Sorted{}
		for _, q := range own.Particles {
			back.Whole = append(back.Whole, Piece{0, q})
		}
		s.LengthMM = spreadOf(back.Whole, func(q Piece) float64 { return q.MaxFeretMM })
		s.WidthMM = spreadOf(back.Whole, func(q Piece) float64 { return q.MinFeretMM })
		s.AreaMM2 = spreadOf(back.Whole, func(q Piece) float64 { return q.AreaMM2 })
		if len(s.Doubts([]result.Photo{lot(r, 6+r.IntN(30), 1, asItIs)})) > 0 {
			doubted++
		}
	}
	if doubted > 15 { // 10 expected at most; three standard deviations of counting would be 19
		t.Errorf("%d of 1000 lots of the same hybrid are doubted", doubted)
	}
}

func TestOtherKernelsAreDoubted(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	turned := func(by float64) func([3]float64) [3]float64 {
		sin, cos := math.Sincos(by)
		return func(l [3]float64) [3]float64 { return [3]float64{l[0], l[1]*cos - l[2]*sin, l[1]*sin + l[2]*cos} }
	}
	for name, c := range map[string]struct {
		photo result.Photo
		want  string // of each sentence; empty: nothing is said
	}{
		"itself":               {lot(r, 20, 1, asItIs), ""},
		"larger":               {lot(r, 20, 1.2, asItIs), "20 whole kernels are 4|larger than the stored kernel Y1, more than chance and measuring explain: they may be of different hybrids"},
		"shorter":              {lot(r, 20, 0.82, asItIs), "than the stored kernel Y1, more than chance"},
		"redder":               {lot(r, 20, 1, turned(-0.35)), "are redder than the stored kernel Y1, more than light and camera explain with the paper of the ruler taken as white"},
		"white":                {lot(r, 20, 1, func(l [3]float64) [3]float64 { return [3]float64{l[0] + 9, l[1] - 9, l[2] / 3} }), "are paler than the stored kernel Y1"},
		"dark red":             {lot(r, 20, 1, func([3]float64) [3]float64 { return [3]float64{36 + r.NormFloat64(), 27, 19} }), "are redder than"},
		"in half the light":    {lot(r, 20, 1, exposed(0.6)), ""},
		"in a stronger camera": {lot(r, 20, 1, func(l [3]float64) [3]float64 { return [3]float64{l[0], 1.2 * l[1], 1.2 * l[2]} }), ""},
		"five":                 {lot(r, 5, 1.5, asItIs), "5 surely whole kernel(s) are too few"},
	} {
		got := strings.Join(yellow().Doubts([]result.Photo{c.photo}), "\n")
		for _, want := range strings.Split(c.want, "|") {
			if !strings.Contains(got, want) || (c.want == "") != (got == "") {
				t.Errorf("%s: %q, want %q", name, got, c.want)
			}
		}
	}
}

// What does not count: refused photos, copies, second shots of a spread, pieces that are not surely whole or cut by an edge.
func TestDoubtsSkipWhatDoesNotCount(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	good := lot(r, 12, 1, asItIs)
	for name, spoil := range map[string]func(p *result.Photo){
		"refused": func(p *result.Photo) { p.Status = result.Refused }, "copy": func(p *result.Photo) { p.DuplicateOf = "a.jpg" },
		"same spread": func(p *result.Photo) { p.SameSpreadAs = "a.jpg" },
		"unsure": func(p *result.Photo) {
			for i := range p.Particles {
				p.Particles[i].PWhole, p.Particles[i].PBroken = 0.7, 0.3
			}
		},
		"cut": func(p *result.Photo) {
			for i := range p.Particles {
				p.Particles[i].CutByEdge = true
			}
		},
	} {
		large := lot(r, 12, 1.4, asItIs)
		if len(yellow().Doubts([]result.Photo{good, large})) == 0 {
			t.Fatal("twelve kernels of 1.4 times the length raise no doubt")
		}
		spoil(&large)
		if got := yellow().Doubts([]result.Photo{good, large}); len(got) > 0 {
			t.Errorf("%s: %q", name, got)
		}
	}
}

// Where there is no white, or was none when the kernel was stored, it is said that colours were not compared.
func TestDoubtsSayWhatWasNotCompared(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 1))
	p := lot(r, 12, 1, asItIs)
	old := yellow()
	old.OnWhite = nil
	if got := strings.Join(old.Doubts([]result.Photo{p}), ""); !strings.Contains(got, "kept without a white") {
		t.Errorf("got %q", got)
	}
	p.White = nil
	for i := range p.Particles {
		p.Particles[i].ColourLab = nil
	}
	if got := strings.Join(yellow().Doubts([]result.Photo{p}), ""); !strings.Contains(got, "show no white paper or tray") {
		t.Errorf("got %q", got)
	}
}

// The distance of two colours is the same whichever is the stored one, and neither light of another strength nor the order changes its chroma.
func TestColourDistance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) [3]float64 {
			return [3]float64{rapid.Float64Range(30, 90).Draw(t, name+" l"), rapid.Float64Range(-3, 35).Draw(t, name+" a"), rapid.Float64Range(5, 65).Draw(t, name+" b")}
		}
		a, b := draw("one"), draw("other")
		same := func(lab [3]float64) (s Stored, list [][3]float64) {
			s = Stored{N: 8, OnWhite: &Colour{Spread{lab[0], 0}, Spread{lab[1], 0}, Spread{lab[2], 0}}}
			for range 8 {
				list = append(list, lab)
			}
			return s, list
		}
		sa, la := same(a)
		sb, lb := same(b)
		there, back := sa.colourDistance(lb), sb.colourDistance(la)
		if math.Abs(there.squared-back.squared) > 0.02*(1+there.squared) { // means are kept to a thousandth
			t.Fatalf("%v to %v: %g there, %g back", a, b, there.squared, back.squared)
		}
		_, dim := same(exposed(rapid.Float64Range(0.5, 1).Draw(t, "light"))(a))
		if d := sa.colourDistance(dim); math.Abs(d.by[1]) > 0.01 || math.Abs(d.by[2]) > 0.01 {
			t.Fatalf("light alone moves strength and hue by %v", d.by)
		}
	})
}
