package score

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"gristmark/internal/accuracy/outline"
	"gristmark/internal/result"
)

func square(x, y, side float64) []result.XY {
	return []result.XY{{x, y}, {x + side, y}, {x + side, y + side}, {x, y + side}}
}

func thing(x, y, side float64) Thing {
	return Thing{Class: result.WholeKernel, AtPx: result.XY{x + side/2, y + side/2}, Shape: outline.New(square(x, y, side))}
}

func find(x, y, side float64) Found {
	return NewFound(result.Particle{Class: result.WholeKernel, AtPx: result.XY{x + side/2, y + side/2}, OutlinePx: square(x, y, side)})
}

func TestMissesAndExtrasAreCounted(t *testing.T) {
	truths := []Thing{thing(0, 0, 10), thing(20, 0, 10), thing(40, 0, 10)}
	finds := []Found{find(1, 0, 10), find(100, 0, 10), find(120, 0, 10)}
	got := Count(truths, finds, Match(truths, finds, 0.5))
	if want := (Counts{Hits: 1, Misses: 2, Extras: 2}); got != want {
		t.Fatalf("got %+v, want %+v", got, want)
	}
	if got.Precision() != 1.0/3 || got.Recall() != 1.0/3 || got.F1() != 1.0/3 {
		t.Errorf("precision %v, recall %v, F1 %v, want a third each", got.Precision(), got.Recall(), got.F1())
	}
}

func TestTwoMergedPiecesAreOneMissAndOneExtra(t *testing.T) {
	truths := []Thing{thing(0, 0, 10), thing(10, 0, 10)}
	merged := NewFound(result.Particle{OutlinePx: []result.XY{{0, 0}, {20, 0}, {20, 10}, {0, 10}}})
	// IoU of the merged find with each is exactly a half: it may count for one, never for both.
	if got, want := Count(truths, []Found{merged}, Match(truths, []Found{merged}, 0.5)), (Counts{Hits: 1, Misses: 1}); got != want {
		t.Errorf("at 0.5: got %+v, want %+v", got, want)
	}
	if got, want := Count(truths, []Found{merged}, Match(truths, []Found{merged}, 0.75)), (Counts{Misses: 2, Extras: 1}); got != want {
		t.Errorf("at 0.75: got %+v, want %+v", got, want)
	}
}

func TestSplitPieceIsAnExtra(t *testing.T) {
	truths := []Thing{thing(0, 0, 10)}
	finds := []Found{find(0, 0, 8), find(8, 8, 2)}
	if got, want := Count(truths, finds, Match(truths, finds, 0.5)), (Counts{Hits: 1, Extras: 1}); got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

func TestSmallThingsCountForNothing(t *testing.T) {
	small := thing(50, 50, 2)
	small.Small = true
	truths := []Thing{thing(0, 0, 10), small}
	for name, finds := range map[string][]Found{
		"left out":      {find(0, 0, 10)},
		"found":         {find(0, 0, 10), find(50, 50, 2)},
		"found roughly": {find(0, 0, 10), find(50, 51, 1.8)},
	} {
		if got, want := Count(truths, finds, Match(truths, finds, 0.5)), (Counts{Hits: 1}); got != want {
			t.Errorf("%s: got %+v, want %+v", name, got, want)
		}
	}
	far := []Found{find(0, 0, 10), find(50, 50, 9)}
	if got := Count(truths, far, Match(truths, far, 0.5)); got.Extras != 1 {
		t.Errorf("a find that merely contains a small thing: %+v, want one extra", got)
	}
}

func TestCentroidDecidesWithoutOutlines(t *testing.T) {
	truths := []Thing{thing(0, 0, 10), thing(20, 0, 10)}
	bare := NewFound(result.Particle{AtPx: result.XY{5, 5}})
	astray := NewFound(result.Particle{AtPx: result.XY{15, 5}})
	if got, want := Count(truths, []Found{bare, astray}, Match(truths, []Found{bare, astray}, 0.5)), (Counts{1, 1, 1}); got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

func TestNothingThere(t *testing.T) {
	if c := (Counts{}); c.F1() != 1 || c.Precision() != 1 || c.Recall() != 1 {
		t.Error("an empty scene with nothing found is right")
	}
}

// Whatever lies where: every truth is a hit or a miss, every find a hit or an extra.
func TestEveryPieceIsCountedOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var truths []Thing
		var finds []Found
		place := rapid.Float64Range(0, 40)
		for range rapid.IntRange(0, 12).Draw(t, "truths") {
			truths = append(truths, thing(place.Draw(t, "x"), place.Draw(t, "y"), 10))
		}
		for range rapid.IntRange(0, 12).Draw(t, "finds") {
			finds = append(finds, find(place.Draw(t, "x"), place.Draw(t, "y"), 10))
		}
		strict, loose := Count(truths, finds, Match(truths, finds, 0.75)), Count(truths, finds, Match(truths, finds, 0.5))
		for _, c := range []Counts{strict, loose} {
			l := Unpaired(truths, finds, Match(truths, finds, 0.5))
			if len(l.Missed) != loose.Misses || len(l.Extra) != loose.Extras {
				t.Fatalf("%+v, but lone %+v", loose, l)
			}
			if c.Hits+c.Misses != len(truths) || c.Hits+c.Extras != len(finds) {
				t.Fatalf("%d truths, %d finds: %+v", len(truths), len(finds), c)
			}
			if math.IsNaN(c.F1()) || c.F1() < 0 || c.F1() > 1 {
				t.Fatalf("F1 %v", c.F1())
			}
		}
	})
}

// A piece without a class is on the side that its probabilities name, unless they are nearly even.
func TestSideOfPiecesWithoutAClass(t *testing.T) {
	for _, c := range []struct {
		p            result.Particle
		kernel, sure bool
	}{
		{result.Particle{Class: result.Stover, PStover: 0.7, PBroken: 0.3}, false, true},
		{result.Particle{Class: result.Unsure, PWhole: 0.45, PBroken: 0.5, PStover: 0.05}, true, true},
		{result.Particle{Class: result.Unsure, PWhole: 0.05, PBroken: 0.45, PStover: 0.5}, false, false},
		{result.Particle{Class: result.Unsure, PWhole: 0.15, PBroken: 0.4, PStover: 0.45}, false, false},
	} {
		if kernel, sure := (Found{Particle: c.p}).side(); sure != c.sure || (sure && kernel != c.kernel) {
			t.Errorf("%+v: kernel %t, sure %t", c.p, kernel, sure)
		}
	}
}
