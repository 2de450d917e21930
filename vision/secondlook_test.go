package vision

import (
	"math"
	"testing"

	"gristmark/internal/result"
)

// A view shows the close-up so that its lean points to the right: a spot off its middle comes to where turning takes it, within the half pixel by which the
// whole pixels that it fills may lie off, and mirrored to the other side.
func TestViews(t *testing.T) {
	const side, middle = closeUpPx, (closeUpPx - 1) / 2.0
	for _, c := range []struct {
		lean, spot, want, tilt result.XY
		by                     float64
		mirrored               bool
	}{
		{result.XY{}, result.XY{10, 5}, result.XY{10, 5}, result.XY{}, 0, false},
		{result.XY{0.5, 0}, result.XY{10, 5}, result.XY{10, 5}, result.XY{0.5, 0}, 0, false},
		{result.XY{0, 0.5}, result.XY{10, 5}, result.XY{5, -10}, result.XY{0.5, 0}, 0, false},
		{result.XY{0, 0.5}, result.XY{10, 5}, result.XY{5, 10}, result.XY{0.5, 0}, 0, true},
		{result.XY{-0.3, -0.3}, result.XY{-8, -8}, result.XY{8 * math.Sqrt2, 0}, result.XY{0.3 * math.Sqrt2, 0}, 0, false},
		{result.XY{0.4, 0}, result.XY{10, 0}, result.XY{8.66, -5}, result.XY{0.3464, -0.2}, math.Pi / 6, false},
		{result.XY{0.4, 0}, result.XY{10, 0}, result.XY{8.66, 5}, result.XY{0.3464, 0.2}, math.Pi / 6, true},
	} {
		up := CloseUp{Pix: make([]uint8, 4*side*side), SideMM: 16, Lean: c.lean}
		for _, d := range [9]result.XY{{-1, -1}, {0, -1}, {1, -1}, {-1, 0}, {0, 0}, {1, 0}, {-1, 1}, {0, 1}, {1, 1}} {
			x, y := int(math.Round(middle+c.spot[0]+d[0])), int(math.Round(middle+c.spot[1]+d[1]))
			up.Pix[4*(y*side+x)+2], up.Pix[4*(y*side+x)+3] = 255, 255
		}
		planes := make([]float32, closeUpPlanes*side*side)
		(&view{&up, c.by, c.mirrored}).fill(planes)
		for _, k := range [2]int{0, 3} {
			var at result.XY
			var sum float64
			for i, v := range planes[k*side*side : (k+1)*side*side] {
				f := float64(v) + 0.5
				at[0], at[1], sum = at[0]+f*(float64(i%side)-middle), at[1]+f*(float64(i/side)-middle), sum+f
			}
			if at = (result.XY{at[0] / sum, at[1] / sum}); dist(at, c.want) > 0.8 {
				t.Errorf("lean %v: plane %d has the spot at %.2f, want %.2f", c.lean, k, at, c.want)
			}
		}
		last := side*side - 1
		if got := (result.XY{float64(planes[5*side*side+last]), float64(planes[6*side*side])}); dist(got, c.tilt) > 1e-3 || planes[4*side*side] != 1 {
			t.Errorf("lean %v: shown as %v, want %v; log of the side %v, want 1", c.lean, got, c.tilt, planes[4*side*side])
		}
	}
}

// Of pieces in doubt the mean of four looks counts, each piece's own; of what is surely named, or surely foreign, the first look.
func TestLookAgain(t *testing.T) {
	photo := grounds(250, 200)
	drafts := make([]draft, 6)
	for i := range drafts {
		drafts[i].closeUp = closeUpOf(photo, disc(result.XY{60 + 25*float64(i), 90}, 9+3*float64(i)), 0.2)
		drafts[i].Probability = 0.5
	}
	drafts[1].Probability, drafts[4].pForeign = 0.95, 0.99
	for i := range drafts {
		d := &drafts[i]
		first, err := lookClose([]view{{CloseUp: &d.closeUp}})
		if err != nil {
			t.Fatal(err)
		}
		d.hear(first[0])
	}
	before := append([]draft(nil), drafts...)
	if n, err := lookAgain(drafts); err != nil || n != 4 {
		t.Fatalf("%d of the 4 in doubt looked at again, %v", n, err)
	}
	for i := range drafts {
		want := before[i].said
		if i != 1 && i != 4 {
			c := before[i].closeUp
			four, err := lookClose([]view{{&c, 0, false}, {&c, 0.1, false}, {&c, 0, true}, {&c, -0.1, true}})
			if err != nil {
				t.Fatal(err)
			}
			want = closeLook{}
			for _, l := range four {
				for k, v := range l {
					want[k] += v / 4
				}
			}
		}
		for k, v := range drafts[i].said {
			if math.Abs(v-want[k]) > 1e-4 {
				t.Errorf("piece %d: %v, want %v", i, drafts[i].said, want)
				break
			}
		}
		if got := CloseUpFeatures(drafts[i].said[:]); got != drafts[i].inside.closeUp {
			t.Errorf("piece %d: its features are %v, not %v", i, drafts[i].inside.closeUp, got)
		}
	}
}
