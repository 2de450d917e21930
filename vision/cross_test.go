package vision

import (
	"math"
	"slices"
	"testing"

	"gristmark/internal/result"
)

// found are the areas of the pieces that are seen where the outlines (mm) lie, smallest first.
func found(t *testing.T, outlines ...[]result.XY) []float64 {
	t.Helper()
	a := analysed(t, drawn(900, 700, 10, navy, outlines, green), level(0.1), DefaultOptions())
	var areas []float64
	for _, p := range a.Particles {
		areas = append(areas, p.AreaMM2)
	}
	slices.Sort(areas)
	return areas
}

// A piece that lies across another is found whole, however little of it reaches out: 7 % of its area for its rounded corners and the
// sides across, 13 % where the corner of one lies under the other and nobody sees it.
func TestStubbyPiecesAcrossAreWhole(t *testing.T) {
	long := turned(rectangle(24, 3), 0.3, result.XY{45, 35})
	cases := []struct {
		name      string
		across    []result.XY
		area, off float64
	}{
		{"short arms", turned(rectangle(5.4, 2), 1.8, result.XY{45, 35}), 10.8, 0.07},
		{"one arm short", turned(rectangle(12, 2.4), 1.6, result.XY{45, 31}), 28.8, 0.07},
		{"at the end", turned(rectangle(12, 2.4), 1.6, result.XY{55.3, 38}), 28.8, 0.13},
	}
	for _, c := range cases {
		got := found(t, long, c.across)
		if len(got) != 2 {
			t.Errorf("%s: two pieces are found as %d", c.name, len(got))
			continue
		}
		within(t, c.name+", area across", got[0], c.area, c.off*c.area)
		within(t, c.name+", area of the long one", got[1], 72, c.off*72)
	}
}

// Straws of a few millimetres cross too: their arms are shorter than those over which long pieces turn.
func TestTinyStrawsAcross(t *testing.T) {
	at := result.XY{45, 35}
	for _, c := range []struct{ long, short, off, turn float64 }{{4.4, 3.2, 0.5, 1.3}, {4.0, 3.4, 0.7, 1.7}, {5.0, 3.0, 0.3, 1.1}} {
		one, two := turned(rectangle(c.long, 1.3), 0.4, at), turned(rectangle(c.short, 1.2), 0.4+c.turn, result.XY{at[0] + c.off, at[1]})
		a := analysed(t, drawn(600, 467, 1/0.15, navy, [][]result.XY{one, two}, green), level(0.15), DefaultOptions())
		if len(a.Particles) != 2 {
			t.Errorf("two straws of %v and %v mm are found as %d", c.long, c.short, len(a.Particles))
		}
	}
}

// Shadow and blur fill the hollows of a crossing: the sides run straight on all the same.
func TestFilledHollowsDoNotWidenPieces(t *testing.T) {
	at := result.XY{45, 35}
	var hollows [][]result.XY
	for k := range 4 {
		corner := []result.XY{{0.9, 0.9}, {2.1, 0.9}, {0.9, 2.1}}
		hollows = append(hollows, turned(corner, 0.3+float64(k)*math.Pi/2, at))
	}
	got := found(t, append(hollows, turned(rectangle(20, 2), 0.3, at), turned(rectangle(14, 2), 0.3+math.Pi/2, at))...)
	if len(got) != 2 {
		t.Fatalf("two pieces are found as %d", len(got))
	}
	within(t, "area of the short one", got[0], 28, 0.03*28)
	within(t, "area of the long one", got[1], 40, 0.03*40)
}

// A leaf with a wavy rim has hollows on both sides, and is one.
func TestWavyLeafIsOne(t *testing.T) {
	for _, wave := range []float64{5, 7, 10} {
		var leaf []result.XY
		for x := -16.0; x <= 16; x += 0.2 {
			leaf = append(leaf, result.XY{x, -4 + 0.5*math.Cos(2*math.Pi*x/wave)})
		}
		for x := 16.0; x >= -16; x -= 0.2 {
			leaf = append(leaf, result.XY{x, 4 + 0.5*math.Sin(2*math.Pi*x/wave)})
		}
		if got := found(t, turned(leaf, 0.4, result.XY{45, 35})); len(got) != 1 {
			t.Errorf("a leaf with waves of %v mm is found as %d pieces", wave, len(got))
		}
	}
}

// The end of a straw against a curved side is cut off; a nick in the side is none.
func TestStrawAgainstCurvedSide(t *testing.T) {
	var bow []result.XY
	for _, r := range []float64{60, 63} {
		for k := range 61 {
			b := (float64(k) - 30) / 30 * 0.5
			if r > 60 {
				b = -b
			}
			bow = append(bow, result.XY{45 + r*math.Sin(b), 90 - r*math.Cos(b)})
		}
	}
	got := found(t, bow, turned(rectangle(9, 3), 1.3, result.XY{45, 23}))
	if len(got) != 2 {
		t.Fatalf("a straw against a bow is found as %d pieces", len(got))
	}
	within(t, "area of the straw", got[0], 25, 0.12*25)
}

// Two straws of 20 by 2 across each other: their hull has 238 mm², each straw's is the straw.
func TestHullSavedByACrossing(t *testing.T) {
	outline := func(o []result.XY) part { return part{outline: o, joint: make([]bool, len(o))} }
	x, y := rectangle(20, 2), turned(rectangle(20, 2), math.Pi/2, result.XY{})
	plus := []result.XY{{-10, -1}, {-1, -1}, {-1, -10}, {1, -10}, {1, -1}, {10, -1}, {10, 1}, {1, 1}, {1, 10}, {-1, 10}, {-1, 1}, {-10, 1}}
	within(t, "area of hull saved", hullArea(outline(plus))-hullOfBoth(outline(plus), outline(x), outline(y)), 238-76, 1e-9)
}
