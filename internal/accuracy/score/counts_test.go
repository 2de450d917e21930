package score

import (
	"math"
	"testing"

	"gristmark/internal/result"
)

func TestTally(t *testing.T) {
	for _, c := range []struct {
		Tally
		within bool
		error  float64
	}{
		{Tally{10, 11}, true, 10}, {Tally{10, 11.01}, false, 10.1}, {Tally{100, 97}, true, -3}, {Tally{100, 96.9}, false, -3.1}, {Tally{0, 1}, true, math.NaN()}, {Tally{0, 1.2}, false, math.NaN()},
	} {
		if got := c.ErrorPct(); c.Within() != c.within || math.Abs(got-c.error) > 1e-9 || math.IsNaN(got) != math.IsNaN(c.error) {
			t.Errorf("%+v: within %v, error %v", c.Tally, c.Within(), got)
		}
	}
}

// Whole, broken, nicked on either side of the line, one cut by the frame, one too small, a straw, and a kernel that nothing was found for; an extra
// is a find without a truth, one at the edge is none.
func TestCountGrains(t *testing.T) {
	kept := func(g Thing, share float64) Thing { g.Kept = &share; return g }
	cut, small := kept(sized(thing(80, 0, 10), result.WholeKernel, 10), 1), kept(sized(thing(100, 0, 10), result.BrokenKernel, 0.5), 0.1)
	cut.Cut, small.Small = true, true
	truths := []Thing{
		kept(sized(thing(0, 0, 10), result.WholeKernel, 10), 1), kept(sized(thing(20, 0, 10), result.BrokenKernel, 6), 0.4),
		kept(sized(thing(40, 0, 10), result.WholeKernel, 10), 0.955), kept(sized(thing(60, 0, 10), result.BrokenKernel, 10), 0.93),
		cut, small, sized(thing(120, 0, 10), result.Stover, 20), kept(sized(thing(140, 0, 10), result.BrokenKernel, 8), 0.7),
	}
	find := func(x, whole, broken float64) Found {
		p := particle(x, 0, 10, result.Unsure, 10)
		p.PWhole, p.PBroken, p.PStover = whole, broken, 1-whole-broken
		return NewFound(p)
	}
	edge := find(300, 1, 0)
	edge.CutByEdge = true
	finds := []Found{find(0, 0.9, 0.1), find(20, 0.2, 0.7), find(40, 0.6, 0.4), find(60, 0.5, 0.5), find(80, 1, 0), find(100, 0, 1), find(120, 0.05, 0.15), find(200, 0.3, 0.3), edge}
	g, ok := countGrains(truths, finds, Match(truths, finds, Loose))
	want := Grains{Whole: Tally{1, 0.9 + 0.2 + 0.05 + 0.3}, Broken: Tally{2, 0.1 + 0.7 + 0.15 + 0.3}, NickedWhole: Tally{1, 1.1}, NickedBroken: Tally{1, 0.9}}
	near := func(a, b Tally) bool { return a.True == b.True && math.Abs(a.Expected-b.Expected) < 1e-9 }
	if !ok || !near(g.Whole, want.Whole) || !near(g.Broken, want.Broken) || !near(g.NickedWhole, want.NickedWhole) || !near(g.NickedBroken, want.NickedBroken) {
		t.Errorf("got %+v, want %+v", g, want)
	}
	whole, broken := g.All()
	if !near(whole, Tally{2, 2.55}) || !near(broken, Tally{3, 2.15}) {
		t.Errorf("all together %+v and %+v", whole, broken)
	}
	if _, ok := countGrains(truths[6:7], finds, nil); ok {
		t.Error("a scene of straw alone has kernels")
	}
}

// A refused scene expects no kernel.
func TestCountsOfARefusedScene(t *testing.T) {
	f := NewFamily("x")
	f.Add(Truth{Name: "a", Usable: true, Things: []Thing{sized(thing(0, 0, 10), result.WholeKernel, 10)}}, result.Document{})
	if len(f.Grains) != 1 || f.Grains[0].Whole != (Tally{1, 0}) {
		t.Errorf("got %+v", f.Grains)
	}
}

func TestLargestClassErrorAndPassing(t *testing.T) {
	truth := Truth{Name: "a", Usable: true, Scene: map[string]float64{"over 19 mm": 10, "8 to 19 mm": 50, "4 to 8 mm": 30, "under 4 mm": 10, "passing 4.75 mm": 60}}
	doc := measured()
	doc.Sample = &result.Sample{
		Pieces:  &result.Pieces{LengthClassesPct: &result.LengthClasses{Over19: 12, From8: 45, From4: 32, Under4: 11}},
		Kernels: &result.Kernels{Passing475Pct: &result.Estimate{Value: 57, Level: 0.95}},
	}
	f := NewFamily("x")
	f.Add(truth, doc)
	if len(f.ClassErrors) != 1 || f.ClassErrors[0] != 5 || len(f.PassingMany) != 0 {
		t.Errorf("largest class error %v, want 5; passing of many %v, want none of a scene without kernels", f.ClassErrors, f.PassingMany)
	}
	for i := range ManyKernels {
		truth.Things = append(truth.Things, sized(thing(float64(20*i), 0, 10), result.BrokenKernel, 5))
	}
	f.Add(truth, doc)
	delete(truth.Scene, "under 4 mm")
	truth.Things = truth.Things[1:]
	f.Add(truth, doc)
	if len(f.ClassErrors) != 2 || len(f.PassingMany) != 1 || f.PassingMany[0] != -3 {
		t.Errorf("class errors %v, passing of many %v", f.ClassErrors, f.PassingMany)
	}
	sum := NewFamily("all")
	sum.Merge(f)
	sum.Merge(f)
	if len(sum.ClassErrors) != 4 || len(sum.PassingMany) != 2 || len(sum.Grains) != 4 {
		t.Errorf("merged: %d class errors, %d passing, %d counts", len(sum.ClassErrors), len(sum.PassingMany), len(sum.Grains))
	}
}
