package sieve

import (
	"bytes"
	"image/png"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func mustAnalyse(t *testing.T, text string, terms Terms) *Report {
	t.Helper()
	w, err := Parse([]byte(text), Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := Analyse(w, terms)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestKindOf(t *testing.T) {
	for _, c := range []struct {
		o    []float64
		want Kind
	}{
		{[]float64{19, 8, 4}, Box}, {[]float64{19, 8, 1.18}, OlderBox}, {[]float64{19, 8, 1.17}, OlderBox}, {[]float64{19, 8}, ThreePart},
		{[]float64{19, 8, 4, 1.18}, FivePart}, {[]float64{19, 12.7, 6.3, 3.96, 1.17}, S424}, {[]float64{19, 12.7, 6.3, 4, 1.18}, S424},
		{[]float64{12.7, 6.3, 3.96, 1.17}, S424}, {[]float64{4.75, 2.36}, Laboratory}, {[]float64{19}, Laboratory},
	} {
		if got := KindOf(c.o); got != c.want {
			t.Errorf("%v: %s, want %s", c.o, got, c.want)
		}
	}
}

func TestLoss(t *testing.T) {
	base := "sieve,mass_g\ntop,20\nmiddle,300\nlower,120\npan,50\nput in,"
	for _, c := range []struct {
		in   string
		loss float64
		ok   bool
	}{{"500", 2, true}, {"510", 100 * 20.0 / 510, false}, {"490", 0, true}, {"470", -100 * 20.0 / 470, false}} {
		r := mustAnalyse(t, base+c.in+"\n", Terms{})
		close(t, "loss", r.Recovery.LossPct, c.loss, 1e-9)
		if r.Recovery.OK != c.ok || (r.Refusal() == nil) != c.ok {
			t.Errorf("put in %s: %+v, %v", c.in, r.Recovery, r.Refusal())
		}
	}
	if r := mustAnalyse(t, base+"510\n", Terms{LossLimitPct: 5}); r.Refusal() != nil {
		t.Error("a wider limit was not kept")
	}
}

func TestDryMassAndWetRecovery(t *testing.T) {
	r := mustAnalyse(t, "sieve,mass_g,dm_pct,put_in_g\ntop,100,40,405\nmiddle,200,35,\npan,100,30,\n", Terms{PutInDMPct: ptr(35.0)})
	for i, want := range []float64{100 * 40.0 / 140, 50, 100 * 30.0 / 140} {
		close(t, "dry share", *r.Fractions[i].DrySharePct, want, 1e-9)
	}
	close(t, "dry loss", *r.Recovery.DryLossPct, 100*(405*0.35-140)/(405*0.35), 1e-9)
	r = mustAnalyse(t, "sieve,mass_g,dry_g\ntop,100,40\nmiddle,200,\npan,100,30\n", Terms{})
	if r.Fractions[0].DrySharePct != nil {
		t.Error("dry shares although one dry mass is missing")
	}
}

func TestBoxSharesOfAFivePartStack(t *testing.T) {
	w, err := Parse([]byte("sieve,mass_g\n19,50\n8,250\n4,120\n1.18,60\npan,20\n"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	p, box := BoxShares(w.Shakes)
	if box != "19-8-4" {
		t.Fatal(box)
	}
	for part, want := range map[string]float64{"top": 10, "middle": 50, "lower": 24, "pan": 16, "top_middle": 60} {
		close(t, part, p[part].Value, want, 1e-9)
	}
	if p, _ := BoxShares([]Shake{{Fractions: []Fraction{{OpeningMM: 12}, {}}}}); p != nil {
		t.Error("a box out of other sieves")
	}
}

// Two equal shakes have no spread, two unlike ones have Student's with one degree of freedom:
// shares 10 and 20 % of equal masses, half width 12.7062 × 5 = 63.5, cut at 0.
func TestRepeatedShakes(t *testing.T) {
	r := mustAnalyse(t, "shake,sieve,mass_g\na,top,10\na,pan,90\nb,top,20\nb,pan,80\n", Terms{})
	s := r.Fractions[0].SharePct
	close(t, "share", s.Value, 15, 1e-9)
	close(t, "low", *s.Low, 0, 1e-9)
	close(t, "high", *s.High, 15+12.7062*5, 0.001)
	r = mustAnalyse(t, "sieve,mass_g\ntop,10\npan,90\n", Terms{})
	if r.Fractions[0].SharePct.Low != nil {
		t.Error("an interval out of one shake")
	}
}

// With every kernel counted the interval is the exact Poisson one: 4 whole kernels give 1.08987 to
// 10.24159 (derived). Counting half of each box doubles value and ends' scale but keeps the count's doubt.
func TestKernelsByBox(t *testing.T) {
	r := mustAnalyse(t, "sieve,mass_g,whole_kernels,large_pieces\ntop,100,0,1\nmiddle,600,4,9\nlower,200,0,2\npan,100,0,0\n", Terms{})
	k := r.Kernels
	close(t, "whole per kg", k.WholePerKg.Value, 4, 1e-9)
	close(t, "low", k.WholePerKg.Low, 1.08987, 5e-6)
	close(t, "high", k.WholePerKg.High, 10.24159, 5e-6)
	close(t, "share in the middle", *k.ByFraction[1].WholeSharePct, 100, 1e-9)
	close(t, "large in the middle", *k.ByFraction[1].LargeSharePct, 75, 1e-9)
	half := mustAnalyse(t, "sieve,mass_g,whole_kernels,counted_g\ntop,100,0,50\nmiddle,600,2,300\nlower,200,0,100\npan,100,0,50\n", Terms{}).Kernels
	close(t, "half counted", half.WholePerKg.Value, 4, 1e-9)
	if half.WholePerKg.High <= k.WholePerKg.High {
		t.Error("half the count must know less")
	}
	twice := mustAnalyse(t, "shake,sieve,mass_g,whole_kernels\na,middle,600,3\na,pan,400,0\nb,middle,600,5\nb,pan,400,0\n", Terms{}).Kernels
	close(t, "two shakes", twice.WholePerKg.Value, 4, 1e-9)
	w, err := Parse([]byte("sieve,mass_g,whole_kernels\ntop,100,0\nmiddle,600,\npan,100,0\n"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Analyse(w, Terms{}); err == nil || !strings.Contains(err.Error(), "middle") {
		t.Errorf("a box left out: %v", err)
	}
}

func TestTopLengthMustExceedTheHoles(t *testing.T) {
	if _, err := Analyse(sampleReport(t), Terms{TopLengthMM: ptr(20.0)}); err == nil {
		t.Error("20 mm pieces on a screen of 26.9 mm diagonal")
	}
}

func drawShake(t *rapid.T) Shake {
	stack := rapid.SampledFrom([][]float64{{19, 8, 4}, {19, 8, 1.18}, {19, 12.7, 6.3, 3.96, 1.17}, {10, 5}}).Draw(t, "stack")
	var s Shake
	for _, o := range append(append([]float64{}, stack...), 0) {
		s.Fractions = append(s.Fractions, Fraction{Label: OpeningName(o), OpeningMM: o, MassG: rapid.Float64Range(0.5, 400).Draw(t, OpeningName(o))})
	}
	return s
}

// Shares sum to 100, undersize falls with the opening, scaling masses and shuffling rows changes nothing.
func TestSharesProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawShake(t)
		k := rapid.Float64Range(0.1, 10).Draw(t, "k")
		a, err := Analyse(Weighing{Shakes: []Shake{s}, Given: "mass"}, Terms{})
		if err != nil {
			t.Fatal(err)
		}
		sum, last := 0.0, 101.0
		for _, f := range a.Fractions {
			sum += f.SharePct.Value
			if f.UndersizePct != nil {
				if *f.UndersizePct > last {
					t.Fatal("undersize grows towards finer sieves")
				}
				last = *f.UndersizePct
			}
		}
		if math.Abs(sum-100) > 1e-9 || a.Geometric.SD < 1 || a.Geometric.MeanMM < a.Geometric.PanLengthMM || a.Geometric.MeanMM > a.Geometric.TopLengthMM {
			t.Fatalf("sum %g, %+v", sum, a.Geometric)
		}
		other := Shake{Fractions: rapid.Permutation(s.Fractions).Draw(t, "order")}.Sort()
		for i := range other.Fractions {
			other.Fractions[i].MassG *= k
		}
		b, err := Analyse(Weighing{Shakes: []Shake{other}, Given: "mass"}, Terms{})
		if err != nil {
			t.Fatal(err)
		}
		for i := range a.Fractions {
			if math.Abs(a.Fractions[i].SharePct.Value-b.Fractions[i].SharePct.Value) > 1e-8 {
				t.Fatal("shares changed")
			}
		}
		if math.Abs(a.Geometric.MeanMM/b.Geometric.MeanMM-1) > 1e-9 {
			t.Fatal("the mean changed")
		}
	})
}

// Masses made by a Rosin-Rammler law give the law back, by both fits.
func TestRosinRammlerRecovers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		law := RosinRammler{ScaleMM: rapid.Float64Range(3, 20).Draw(t, "scale"), N: rapid.Float64Range(0.7, 3).Draw(t, "n")}
		x := []float64{19, 12.7, 6.3, 3.96, 1.17}
		var r []float64
		for _, v := range x {
			r = append(r, law.Retained(v))
		}
		for _, fit := range []func(x, r []float64) (RosinRammler, error){FitLine, FitLeastSquares} {
			got, err := fit(x, r)
			if err != nil {
				t.Fatal(err)
			}
			// the simplex stops at a misfit of 1e-16 squared, some 1e-5 in the parameters
			if math.Abs(got.ScaleMM/law.ScaleMM-1) > 1e-4 || math.Abs(got.N/law.N-1) > 1e-4 {
				t.Fatalf("%s: %+v of %+v", got.Fit, got, law)
			}
		}
	})
}

func TestPlot(t *testing.T) {
	r := mustAnalyse(t, "sieve,mass_g\ntop,30\nmiddle,280\nlower,130\npan,40\n", Terms{})
	band := []Band{{4, 0, 10}, {8, 20, 40}, {19, 92, 97}}
	var b bytes.Buffer
	if err := r.Plot(&b, "png", "a shake", band, nil); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil || img.Bounds().Dx() < 300 {
		t.Fatalf("%v %v", img, err)
	}
	var s bytes.Buffer
	if err := r.Plot(&s, "svg", "a shake", band, nil); err != nil || !strings.Contains(s.String(), "<svg") || !strings.Contains(s.String(), "mass finer") {
		t.Errorf("svg: %v", err)
	}
	if err := r.Plot(&s, "bmp", "", nil, nil); err == nil {
		t.Error("an unknown format passed")
	}
	empty := mustAnalyse(t, "sieve,mass_g\ntop,500\nmiddle,0\nlower,0\npan,0\n", Terms{})
	if err := empty.Plot(&s, "svg", "", nil, nil); err == nil {
		t.Error("nothing to draw was drawn")
	}
}
