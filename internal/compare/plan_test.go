package compare

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gristmark/internal/result"
	"gristmark/internal/stats"
)

// Before any data: 8 points of spread to within 8, less the 4 of the models: t·8/√n ≤ √48, that is n = 8
// (2.3646·8/√8 = 6.69; with 7, 7.40 is over 6.93).
func TestPlanFromAssumptions(t *testing.T) {
	p, err := MakePlan(nil, "passing_4_75_pct", 8)
	if err != nil {
		t.Fatal(err)
	}
	if p.Need == nil || *p.Need != 8 || *p.More != 8 || p.SDFrom != "assumed" {
		t.Errorf("%+v", p)
	}
	p, err = MakePlan(nil, "passing_4_75_pct", 3)
	if err != nil || p.Need != nil || !strings.HasPrefix(p.Conclusion, "Cannot be reached") {
		t.Errorf("%v %+v", err, p)
	}
	for _, c := range []struct {
		measure string
		within  float64
	}{{"colour", 5}, {"whole_pct", 0}, {"whole_pct", 80}} {
		if _, err := MakePlan(nil, c.measure, c.within); err == nil {
			t.Errorf("%+v passed", c)
		}
	}
}

// The plan keeps its word: with the number it names the interval is within the wish, with one fewer it is not.
func TestPlanKeepsItsWord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Float64Range(55, 75), 2, 6).Draw(t, "values")
		s := side("a", 0, values...)
		s.Kind = Shakes
		within := rapid.Float64Range(1, 20).Draw(t, "within")
		p, err := MakePlan(&s, "passing_4_75_pct", within)
		if err != nil {
			t.Fatal(err)
		}
		if p.Need == nil {
			return
		}
		half := func(n int) float64 {
			return p.Floor*p.Floor + square(stats.StudentQuantile(level, float64(n-1))*p.SD)/float64(n)
		}
		if half(*p.Need) > within*within*(1+1e-9) || (*p.Need > 2 && half(*p.Need-1) < within*within*(1-1e-9)) {
			t.Fatalf("need %d for ± %g, s.d. %g", *p.Need, within, p.SD)
		}
		if p.NeedHigh != nil && *p.NeedHigh < *p.Need {
			t.Fatal("a larger spread needs fewer")
		}
	})
}

func TestPlanFromPhotos(t *testing.T) {
	var photos []result.Photo
	for i := range 3 {
		photos = append(photos, photo(fmt.Sprint("p", i), uint64(i), 40, 60, 5.5))
	}
	doc := &result.Document{Schema: result.Schema, Photos: photos, Sample: sampleOf(photos)}
	s, err := FromDocument(doc, "p")
	if err != nil {
		t.Fatal(err)
	}
	p, err := MakePlan(&s, "passing_4_75_pct", 10)
	if err != nil {
		t.Fatal(err)
	}
	if p.Have != 3 || p.SDFrom != "sample" || p.HalfNow == nil || !(p.Floor >= 0 && p.Floor <= *p.HalfNow) {
		t.Errorf("%+v", p)
	}
	var b strings.Builder
	if err := p.WriteText(&b, nil); err != nil || !strings.Contains(b.String(), "Now: 3 photos") {
		t.Errorf("%v %s", err, b.String())
	}
}
