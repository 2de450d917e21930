package calib

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"gristmark/internal/result"
)

// edgesOf draws a line of edge pixels, a px wide and without a gap.
func edgesOf(w, h int, a, b result.XY) grey {
	g := grey{make([]uint8, w*h), w, h}
	const exact = 1e-9 // that rounding of a step of 1 px skips no pixel
	n := int(math.Ceil(max(math.Abs(a[0]-b[0]), math.Abs(a[1]-b[1]))))
	for i := range n + 1 {
		q := add(a, sub(b, a), float64(i)/float64(n))
		g.pix[int(q[1]+exact)*w+int(q[0]+exact)] = isEdge
	}
	return g
}

// A line gives pieces that lie along it, within a px, and cover nearly all of it.
func TestChainsOfALine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := func(name string) float64 { return rapid.Float64Range(15, 185).Draw(t, name) }
		a, b := result.XY{at("ax"), at("ay")}, result.XY{at("bx"), at("by")}
		if dist(a, b) < 40 {
			return
		}
		l, sum := lineThrough(a, b), 0.0
		for _, s := range edgesOf(200, 200, a, b).chains() {
			if e := math.Max(math.Abs(l.distance(s.a)), math.Abs(l.distance(s.b))); e > 1 {
				t.Fatalf("a piece lies %.1f px beside the line", e)
			}
			sum += s.length()
		}
		whole := dist(a, b)
		// The first chain starts in the topmost row and runs one way: the rest of that row may be too short for a piece,
		// and so may what a chain has left behind its last piece.
		if least := min(0.75*whole, whole-2*chainPx-4); sum < least || sum > whole+4 {
			t.Fatalf("pieces of %.0f px along %.0f px", sum, whole)
		}
	})
}

// A corner is where two pieces part, and what runs along the rim or is short counts for nothing.
func TestChainsPartAtCorners(t *testing.T) {
	g := edgesOf(100, 100, result.XY{20, 20}, result.XY{80, 20})
	for i, v := range edgesOf(100, 100, result.XY{80, 20}, result.XY{80, 70}).pix {
		g.pix[i] |= v
	}
	for i, v := range edgesOf(100, 100, result.XY{3, 10}, result.XY{3, 90}).pix {
		g.pix[i] |= v
	}
	for i, v := range edgesOf(100, 100, result.XY{40, 60}, result.XY{45, 60}).pix {
		g.pix[i] |= v
	}
	got := g.chains()
	if len(got) != 2 || math.Abs(got[0].length()+got[1].length()-110) > 6 {
		t.Errorf("%v", got)
	}
}
