package calib

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"gristmark/internal/result"
)

// edgesOf draws a line of edge pixels, a px wide.
func edgesOf(w, h int, a, b result.XY) grey {
	g := grey{make([]uint8, w*h), w, h}
	n := int(max(math.Abs(a[0]-b[0]), math.Abs(a[1]-b[1])))
	for i := range n + 1 {
		q := add(a, sub(b, a), float64(i)/float64(n))
		g.pix[int(q[1])*w+int(q[0])] = isEdge
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
		if sum < 0.75*dist(a, b) || sum > dist(a, b)+4 {
			t.Fatalf("pieces of %.0f px along %.0f px", sum, dist(a, b))
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
