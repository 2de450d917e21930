package vision

import (
	"math"
	"slices"
	"testing"

	"gristmark/internal/result"
)

// A piece that runs across another is as wide there as beside it: 2 % of its area, as an edge is found to about a tenth of a pixel.
func TestPiecesKeepTheirWidthAcross(t *testing.T) {
	at := result.XY{45, 35}
	long := turned(rectangle(24, 3), 0.3, at)
	var hollows [][]result.XY
	for k := range 4 {
		hollows = append(hollows, turned([]result.XY{{0.9, 0.9}, {2.1, 0.9}, {0.9, 2.1}}, 0.3+float64(k)*math.Pi/2, at))
	}
	for _, c := range []struct {
		name        string
		outlines    [][]result.XY
		short, long float64 // areas, mm²
	}{
		{"short arms", [][]result.XY{long, turned(rectangle(5.4, 2), 1.8, at)}, 10.8, 72},
		{"filled hollows", append(hollows, turned(rectangle(20, 2), 0.3, at), turned(rectangle(14, 2), 0.3+math.Pi/2, at)), 28, 40},
	} {
		got := found(t, c.outlines...)
		if len(got) != 2 {
			t.Errorf("%s: two pieces are found as %d", c.name, len(got))
			continue
		}
		within(t, c.name+", area of the short one", got[0], c.short, 0.02*c.short)
		within(t, c.name+", area of the long one", got[1], c.long, 0.02*c.long)
	}
}

// Of an end that lies nearly flush with the other piece's side one corner lies under that piece: the side that is seen runs on to it. 4 %: the corners are rounded,
// and where the end comes out is told by less than half a millimetre of it.
func TestSidesRunOnToAnEndUnderAnother(t *testing.T) {
	got := found(t, turned(rectangle(24, 3), 0.3, result.XY{45, 35}), turned(rectangle(12, 2.4), 1.6, result.XY{45, 31}))
	if len(got) != 2 {
		t.Fatalf("two pieces are found as %d", len(got))
	}
	within(t, "area across", got[0], 28.8, 0.04*28.8)
}

func anywhere(result.XY) bool { return true }

// strip is the outline, in px an eighth of a millimetre wide, of a strip 4 mm wide and 24 mm long whose upper side lies off a straight one by rise (mm,
// at x mm from the middle of its length); the 4 mm in the middle of either side were cut.
func strip(rise func(x float64) float64) loop {
	const perMM = 8.0
	var l loop
	for k := range 193 {
		x := float64(k)/perMM - 12
		l.line, l.joint = append(l.line, result.XY{x * perMM, (-2 - rise(x)) * perMM}), append(l.joint, math.Abs(x) <= 2)
	}
	for k := range 193 {
		x := 12 - float64(k)/perMM
		l.line, l.joint = append(l.line, result.XY{x * perMM, 2 * perMM}), append(l.joint, math.Abs(x) <= 2)
	}
	return l
}

// A joint and what the hollows beside it bow are brought onto a straight side; where the piece is bent, widens or narrows, the outline stays.
func TestOnlyStraightSidesRunStraightAcross(t *testing.T) {
	step := func(x float64) float64 {
		if x > 0 {
			return 0.6
		}
		return 0
	}
	for name, rise := range map[string]func(x float64) float64{
		"bent":     func(x float64) float64 { return 25 - math.Hypot(25, x) },
		"hollowed": func(x float64) float64 { return math.Hypot(25, x) - 25 },
		"stepped":  step,
	} {
		l := strip(rise)
		if got := straightened(l, 8, anywhere); !slices.Equal(got[:193], l.line[:193]) {
			t.Errorf("%s: the side is changed", name)
		}
	}
	bowed := strip(func(x float64) float64 { return 0.1 * min(1, max(0, 2.5-math.Abs(x))/0.5) })
	for i, p := range straightened(bowed, 8, anywhere) {
		if i < 193 {
			within(t, "rise of a bowed side, px", -16-p[1], 0, 0.1) // of 0.8: the bow's foot counts as flank
		}
	}
	tapered := strip(func(x float64) float64 { return 0.1 * x })
	for i, p := range straightened(tapered, 8, anywhere) {
		within(t, "shift of a tapered side's point, px", dist(p, tapered.line[i]), 0, 1e-6)
	}
}
