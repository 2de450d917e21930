package vision

import (
	"image"
	"math"
	"testing"

	"github.com/disintegration/imaging"

	"gristmark/internal/result"
)

// Pixels of a close-up change places with those across its middle, all four values of each together.
func TestMirrored(t *testing.T) {
	c := CloseUp{Pix: make([]uint8, 4*closeUpPx*closeUpPx), SideMM: 7}
	at := func(x, y int) int { return 4 * (y*closeUpPx + x) }
	for k := range 4 {
		c.Pix[at(5, 11)+k] = uint8(10 + k)
	}
	const last = closeUpPx - 1
	for i, m := range []struct {
		over func(image.Image) *image.NRGBA
		x, y int
	}{{imaging.Clone, 5, 11}, {mirrors[0], last - 5, 11}, {mirrors[1], 5, last - 11}, {mirrors[2], last - 5, last - 11}} {
		got := c.mirrored(m.over)
		for k := range 4 {
			if got.Pix[at(m.x, m.y)+k] != uint8(10+k) {
				t.Errorf("way %d: value %d is not at %d, %d", i, k, m.x, m.y)
			}
		}
		if got.SideMM != 7 {
			t.Errorf("sides of %g mm", got.SideMM)
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
		first, err := lookClose([]CloseUp{d.closeUp})
		if err != nil {
			t.Fatal(err)
		}
		d.hear(first[0])
	}
	before := append([]draft(nil), drafts...)
	if err := lookAgain(drafts); err != nil {
		t.Fatal(err)
	}
	for i := range drafts {
		want := before[i].said
		if i != 1 && i != 4 {
			c := before[i].closeUp
			four, err := lookClose([]CloseUp{c, c.mirrored(imaging.FlipH), c.mirrored(imaging.FlipV), c.mirrored(imaging.Rotate180)})
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
