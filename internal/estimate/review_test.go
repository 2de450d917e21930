package estimate

import (
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gristmark/internal/result"
)

// unsurePiece could be anything: 20 mm along its middle, 14 mm from end to end as it is bent.
func unsurePiece() result.Particle {
	return result.Particle{Class: result.Unsure, Probability: 0.4, PWhole: 0.3, PBroken: 0.4, PStover: 0.3, LengthMM: 14, WidthMM: 6, AreaMM2: 60,
		MaxFeretMM: 14, MinFeretMM: 6, CentreLineMM: 20, Weight: 1}
}

// The sizes follow the class: end to end for a kernel, along the middle for stover, and a scrap as long as wide from end to end.
func TestReviewGivesTheSizesOfTheClass(t *testing.T) {
	round := unsurePiece()
	round.CentreLineMM, round.MaxFeretMM = 9, 10 // 81 < 1.5 x 60
	for _, c := range []struct {
		piece         result.Particle
		class         result.Class
		length, width float64
	}{
		{unsurePiece(), result.WholeKernel, 14, 6},
		{unsurePiece(), result.BrokenKernel, 14, 6},
		{unsurePiece(), result.Stover, 20, 3},
		{round, result.Stover, 10, 6},
	} {
		given := []result.Photo{photo("a", c.piece)}
		got, err := Review(given, []Correction{{ID: 1, Class: c.class}})
		if err != nil {
			t.Fatal(err)
		}
		q := got[0].Particles[0]
		if q.Class != c.class || q.Probability != 1 || !q.Reviewed || q.LengthMM != c.length || math.Abs(q.WidthMM-c.width) > 1e-12 {
			t.Errorf("%s: got %+v", c.class, q)
		}
		if given[0].Particles[0].Class != result.Unsure || given[0].Particles[0].Reviewed {
			t.Errorf("%s: the photo given was changed", c.class)
		}
	}
}

func TestReviewTakesOutWhatIsNoPiece(t *testing.T) {
	got, err := Review([]result.Photo{photo("a", straw(5, 1), straw(6, 1), straw(7, 1), straw(8, 1))},
		[]Correction{{ID: 2, Class: NoPiece}, {ID: 4, Class: NoPiece}, {ID: 3, Class: result.Stover}})
	if err != nil {
		t.Fatal(err)
	}
	ps := got[0].Particles
	if len(ps) != 2 || ps[0].ID != 1 || ps[1].ID != 3 || !ps[1].Reviewed {
		t.Errorf("got %+v", ps)
	}
}

func TestReviewSaysWhatDoesNotFit(t *testing.T) {
	why := "blurred"
	photos := []result.Photo{photo("x/a.jpg", straw(5, 1)), photo("x/b.jpg", straw(5, 1)), photo("y/b.jpg"),
		{File: "c.jpg", Status: result.Refused, Problem: &why}, {File: "d.jpg", Status: result.Measured, DuplicateOf: "x/a.jpg"}}
	for _, c := range []struct {
		list []Correction
		want string
	}{
		{[]Correction{{"a.jpg", 1, "kernel", 2}}, `line 2: "kernel" is no class; write whole_kernel`},
		{[]Correction{{"a.jpg", 1, result.Unsure, 2}}, `"unsure" is no class`},
		{[]Correction{{"a.jpg", 2, result.Stover, 3}}, "line 3: x/a.jpg has no piece 2"},
		{[]Correction{{"e.jpg", 1, result.Stover, 4}}, `line 4: there is no photo "e.jpg"`},
		{[]Correction{{"b.jpg", 1, result.Stover, 4}}, `2 photos are called "b.jpg"`},
		{[]Correction{{"", 1, result.Stover, 4}}, "the photo is not told, and there are 3"},
		{[]Correction{{"c.jpg", 1, result.Stover, 4}}, "c.jpg was refused"},
		{[]Correction{{"d.jpg", 1, result.Stover, 4}}, "d.jpg is a copy of x/a.jpg"},
		{[]Correction{{"a.jpg", 1, result.Stover, 2}, {`x\a.jpg`, 1, result.Stover, 5}}, "line 5: piece 1 is named a second time, after line 2"},
	} {
		_, err := Review(photos, c.list)
		var fault CorrectionError
		if !errors.As(err, &fault) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: got %v, want %q", c.list, err, c.want)
		}
	}
	if _, err := Review(photos, []Correction{{"y/../x/b.jpg", 1, result.Stover, 0}}); err == nil {
		t.Error("a name that two photos carry was taken")
	}
	if got, err := Review(photos, []Correction{{"x/b.jpg", 1, result.WholeKernel, 0}}); err != nil || got[1].Particles[0].Class != result.WholeKernel {
		t.Errorf("a full name was not taken: %v", err)
	}
}

// Once every piece is named, the counts are those names, the share of whole kernels is theirs, and naming the same again changes nothing.
func TestReviewOfAllPiecesIsCounting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := mixedPhoto("a", rapid.IntRange(3, 60).Draw(t, "n"), rapid.Uint64().Draw(t, "seed"))
		classes := []result.Class{result.WholeKernel, result.BrokenKernel, result.Stover, NoPiece}
		count := map[result.Class]int{}
		var list []Correction
		for _, q := range p.Particles {
			c := rapid.SampledFrom(classes).Draw(t, "class")
			count[c]++
			list = append(list, Correction{ID: q.ID, Class: c})
		}
		got, err := Review([]result.Photo{p}, list)
		if err != nil {
			t.Fatal(err)
		}
		s := Sample(got, Options{Resamples: 50})
		if s.Kernels.Whole != count[result.WholeKernel] || s.Kernels.Broken != count[result.BrokenKernel] || s.Pieces.N != count[result.Stover] {
			t.Fatalf("counted %d, %d, %d of %v", s.Kernels.Whole, s.Kernels.Broken, s.Pieces.N, count)
		}
		if kernels := s.Kernels.Whole + s.Kernels.Broken; kernels > 0 {
			if want := 100 * float64(s.Kernels.Whole) / float64(kernels); math.Abs(s.Kernels.WholePct.Value-want) > 1e-9 {
				t.Fatalf("whole %g %%, want %g", s.Kernels.WholePct.Value, want)
			}
		}
		var kept []Correction
		for _, c := range list {
			if c.Class != NoPiece {
				kept = append(kept, c)
			}
		}
		again, err := Review(got, kept)
		if err != nil || !reflect.DeepEqual(again, got) {
			t.Fatalf("naming the same again changed something: %v", err)
		}
	})
}
