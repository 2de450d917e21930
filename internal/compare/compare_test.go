package compare

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gristmark/internal/result"
	"gristmark/internal/sieve"
	"gristmark/internal/stats"
)

func close(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tol {
		t.Errorf("%s: %.9g, want %.9g within %g", what, got, want, tol)
	}
}

// side builds a sample whose units read one measure with equal weights, each with its own standard error.
func side(label string, within float64, values ...float64) Side {
	s := Side{Label: label, Kind: Photos, Sample: map[string]result.Estimate{}}
	s.Own = map[string]float64{"passing_4_75_pct": within / math.Sqrt(float64(len(values)))}
	mean, _ := stats.MeanSD(values)
	s.Sample["passing_4_75_pct"] = result.Estimate{Value: mean, Low: mean - 1, High: mean + 1, Level: level}
	for i, v := range values {
		s.Units = append(s.Units, Unit{Name: fmt.Sprint(i), Readings: map[string]Reading{"passing_4_75_pct": {Value: v, Weight: 10}}})
	}
	return s
}

func must(t *testing.T, a, b Side, opt Options) *Document {
	t.Helper()
	d, err := Compare(a, b, opt)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// 56/70 against 48/80: Newcombe 1998, Stat. Med. 17:873 (from memory, digits reproduced); Fisher's exact p 0.012521.
func TestCountsAsPublished(t *testing.T) {
	a, b := side("before", 1, 60, 62), side("after", 1, 70, 72)
	a.Whole, a.Kernel, b.Whole, b.Kernel = 48, 80, 56, 70
	c := must(t, a, b, Options{}).Counts
	close(t, "low", *c.Difference.Low, 5.2431, 5e-5)
	close(t, "high", *c.Difference.High, 33.3873, 5e-5)
	close(t, "p", c.FisherP, 0.012521, 5e-7)
	if c.Small {
		t.Error("large counts called small")
	}
	a.Whole, a.Kernel, b.Whole, b.Kernel = 1, 4, 3, 4
	c = must(t, a, b, Options{}).Counts
	close(t, "p of 3/4 and 1/4", c.FisherP, 0.485714, 5e-7)
	if !c.Small {
		t.Error("small counts called large")
	}
}

// By hand: 60, 64 and 70, 78: standard errors 2 and 4, Welch's degrees of freedom 20²/(16+256) = 1.470588, of all units 2, half-way 1.735294;
// equal numbers have the same variance together as apart, 20.
func TestUnpairedByHand(t *testing.T) {
	d := must(t, side("a", 0, 60, 64), side("b", 0, 70, 78), Options{}).Differences[0]
	half := stats.StudentQuantile(level, (400.0/272+2)/2) * math.Sqrt(20)
	close(t, "difference", d.Difference.Value, 12, 1e-9)
	close(t, "low", *d.Difference.Low, 12-half, 1e-9)
	if d.Verdict != None {
		t.Errorf("two photos a side show %s", d.Verdict)
	}
}

// Pairs take out what the loads have in common: differences 9, 10, 11, t with two degrees of freedom 4.302653.
func TestPairedByHand(t *testing.T) {
	a, b := side("a", 0, 40, 60, 80), side("b", 0, 49, 70, 91)
	d := must(t, a, b, Options{Paired: true}).Differences[0]
	close(t, "low", *d.Difference.Low, 10-4.302653/math.Sqrt(3), 1e-5)
	if d.Verdict != Higher {
		t.Errorf("paired: %s", d.Verdict)
	}
	if u := must(t, a, b, Options{}).Differences[0]; u.Verdict != None {
		t.Errorf("unpaired: %s", u.Verdict)
	}
}

func TestConclusions(t *testing.T) {
	d := must(t, side("wide gap", 1, 60, 61, 62), side("tight gap", 1, 70, 71, 72), Options{})
	if !strings.HasPrefix(d.Conclusion, "tight gap broke the kernels more than wide gap: +10.0 points, 95 % ") {
		t.Error(d.Conclusion)
	}
	d = must(t, side("wide gap", 1, 60, 70, 80), side("tight gap", 1, 62, 71, 83), Options{})
	if !strings.HasPrefix(d.Conclusion, "No difference is shown") {
		t.Error(d.Conclusion)
	}
	d = must(t, side("wide gap", 1, 40), side("tight gap", 1, 90), Options{})
	if !strings.HasPrefix(d.Conclusion, "No verdict") || d.Differences[0].Difference.Low == nil {
		t.Errorf("%s %+v", d.Conclusion, d.Differences)
	}
}

func TestRefusals(t *testing.T) {
	a, b := side("a", 1, 60, 61), side("b", 1, 70, 71, 72)
	twin := b
	a.SHA256, twin.SHA256 = []string{"x", "y"}, []string{"z", "y"}
	weighed := b
	weighed.Kind = Shakes
	corrected := b
	corrected.Basis = "corrected to a laboratory"
	empty := b
	empty.Sample = map[string]result.Estimate{}
	for name, c := range map[string]struct {
		b   Side
		opt Options
	}{"shared photo": {twin, Options{}}, "kinds": {weighed, Options{}}, "basis": {corrected, Options{}}, "pairs": {b, Options{Paired: true}}, "nothing": {empty, Options{}}} {
		if _, err := Compare(a, c.b, c.opt); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}

// Swapping the sides turns the sign; the same seed gives the same numbers.
func TestSwapAndSeed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) Side {
			return side(name, rapid.Float64Range(0, 3).Draw(t, name+" within"), rapid.SliceOfN(rapid.Float64Range(20, 90), 2, 4).Draw(t, name)...)
		}
		a, b := draw("a"), draw("b")
		x, err := Compare(a, b, Options{Seed: 3})
		if err != nil {
			t.Fatal(err)
		}
		y, err := Compare(b, a, Options{Seed: 3})
		if err != nil {
			t.Fatal(err)
		}
		p, q := x.Differences[0].Difference, y.Differences[0].Difference
		if math.Abs(p.Value+q.Value) > 1e-9 || math.Abs(*p.Low+*q.High) > 1e-9 {
			t.Fatalf("%+v and %+v", p, q)
		}
	})
}

// Photos that agree by chance, or one photo taken many times over, never claim more than their own pieces carry.
func TestEqualPhotosKeepTheirOwnDoubt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 9).Draw(t, "n")
		within := rapid.Float64Range(0.5, 5).Draw(t, "within")
		same := make([]float64, n)
		for i := range same {
			same[i] = 60
		}
		d, err := Compare(side("a", within, same...), side("b", within, same...), Options{})
		if err != nil {
			t.Fatal(err)
		}
		half := (*d.Differences[0].Difference.High - *d.Differences[0].Difference.Low) / 2
		if want := stats.NormalQuantile(level) * within * math.Sqrt(2/float64(n)); half < want-1e-9 {
			t.Fatalf("half width %g, the pieces alone give %g", half, want)
		}
	})
}

// Coverage of the interval over units whose values are normal, 500 draws: 90 to 98 % from two units a side up.

func TestCoverage(t *testing.T) {
	for _, k := range []int{2, 3, 5, 8} {
		r := stats.Rand(uint64(100 + k))
		hold := 0
		const draws = 500
		for i := range draws {
			a, b := make([]float64, k), make([]float64, k)
			for j := range a {
				a[j], b[j] = 60+6*r.NormFloat64(), 65+3*r.NormFloat64()
			}
			d := must(t, side("a", 0, a...), side("b", 0, b...), Options{Seed: uint64(i)}).Differences[0].Difference
			if *d.Low <= 5 && 5 <= *d.High {
				hold++
			}
		}
		share := 100 * float64(hold) / draws
		t.Logf("%d units a side: %.1f %%", k, share)
		if share < 90 || share > 98 {
			t.Errorf("%d units a side: %.1f %%", k, share)
		}
	}
}

func TestWeighings(t *testing.T) {
	parse := func(text string) Side {
		w, err := sieve.Parse([]byte(text), sieve.Options{})
		if err != nil {
			t.Fatal(err)
		}
		s, err := FromWeighing(w, "s")
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	a := parse("shake,sieve,mass_g\n1,top,20\n1,middle,300\n1,lower,130\n1,pan,50\n2,top,22\n2,middle,302\n2,lower,128\n2,pan,48\n")
	b := parse("shake,sieve,mass_g\n1,top,70\n1,middle,280\n1,lower,110\n1,pan,40\n2,top,72\n2,middle,278\n2,lower,111\n2,pan,39\n")
	d := must(t, a, b, Options{})
	if d.Differences[0].Measure != "geometric_mean_mm" || d.Differences[0].Verdict != Higher {
		t.Errorf("%+v", d.Differences[0])
	}
	one := parse("sieve,mass_g\ntop,20\nmiddle,300\nlower,130\npan,50\n")
	d = must(t, one, b, Options{})
	if d.Differences[0].Difference.Low != nil || !strings.HasPrefix(d.Conclusion, "No verdict") {
		t.Errorf("one shake: %+v", d)
	}
}

// photo makes a measured photo of n straws and k kernel pieces, lengths drawn with the seed.
func photo(name string, seed uint64, n, k int, width float64) result.Photo {
	r := stats.Rand(seed)
	p := result.Photo{File: name, SHA256: name, Status: result.Measured, Scale: &result.Scale{MMPerPx: 0.06, RelativeSD: 0.004}, FieldMM2: 50000}
	for i := range n + k {
		q := result.Particle{ID: i + 1, Weight: 1, Solidity: 0.9}
		if i < n {
			q.Class, q.PStover, q.LengthMM, q.WidthMM = result.Stover, 1, 6+8*r.Float64(), 2
			q.MinFeretMM, q.MaxFeretMM, q.CentreLineMM = 2, q.LengthMM, q.LengthMM
		} else {
			q.Class, q.PBroken, q.LengthMM, q.WidthMM = result.BrokenKernel, 1, width+2*r.Float64(), width*(0.7+0.3*r.Float64())
			q.MinFeretMM, q.MaxFeretMM = q.WidthMM, q.LengthMM
		}
		q.AreaMM2 = 0.75 * q.LengthMM * q.WidthMM
		p.Particles = append(p.Particles, q)
	}
	return p
}

func TestDocuments(t *testing.T) {
	doc := func(prefix string, width float64) *result.Document {
		d := &result.Document{Schema: result.Schema}
		for i := range 3 {
			d.Photos = append(d.Photos, photo(fmt.Sprint(prefix, i), uint64(10*i)+uint64(width), 40, 60, width))
		}
		copied := d.Photos[0]
		copied.File, copied.DuplicateOf = prefix+"copy", d.Photos[0].File
		again := d.Photos[1]
		again.File, again.SameSpreadAs = prefix+"again", d.Photos[1].File
		d.Photos = append(d.Photos, copied, again)
		d.Sample = sampleOf(d.Photos)
		return d
	}
	a, err := FromDocument(doc("a", 7), "coarse")
	if err != nil {
		t.Fatal(err)
	}
	if len(a.Units) != 3 {
		t.Fatalf("%d units of three spreads", len(a.Units))
	}
	b, err := FromDocument(doc("b", 4), "fine")
	if err != nil {
		t.Fatal(err)
	}
	d := must(t, a, b, Options{})
	if d.Differences[0].Measure != "passing_4_75_pct" || d.Differences[0].Verdict != Higher {
		t.Errorf("%+v", d.Differences[0])
	}
	if _, err := FromDocument(&result.Document{Schema: result.Schema}, "x"); err == nil {
		t.Error("a document without a sample")
	}
	if _, err := FromDocument(&result.Document{Schema: "other"}, "x"); err == nil {
		t.Error("a document of another schema")
	}
}
