package photographs

import (
	"context"
	"math"
	"os"
	"testing"

	"gristmark/internal/pipeline"
	"gristmark/internal/result"
)

const root = "../../.."

// within is how far a count may be off: 3 % or one piece. The coins lie on a grey ground that brightens
// towards one side, where its stains pass for pieces.
func within(p Photograph) float64 {
	if p.Set == "coins" {
		return 4
	}
	return max(1, 0.03*float64(p.Count))
}

func TestCounts(t *testing.T) {
	for _, p := range All() {
		t.Run(p.Set+"/"+p.File, func(t *testing.T) {
			if !p.Here(root) {
				if os.Getenv("GRISTMARK_PHOTOS") == "required" {
					t.Fatalf("%s is missing", p.Path(root))
				}
				t.Logf("%s is not here: not tried", p.Path(root))
				return
			}
			got := measure(t, p)
			if got.Status != result.Measured {
				t.Fatalf("refused: %s", *got.Problem)
			}
			if n := len(got.Particles); math.Abs(float64(n-p.Count)) > within(p) {
				t.Errorf("%d pieces found, %d lie there, allowed ± %.0f", n, p.Count, within(p))
			}
		})
	}
}

func measure(t *testing.T, p Photograph) result.Photo {
	t.Helper()
	opt := pipeline.DefaultOptions()
	opt.Show, opt.Scale = pipeline.ShowKernels, p.Scale
	out, err := pipeline.Default("test").Run(context.Background(), []string{p.Path(root)}, opt)
	if err != nil {
		t.Fatal(err)
	}
	return out.Document.Photos[0]
}

// Beans longer than the frame is wide, or shorter than a lentil, would betray a wrong scale: dry beans of
// these sorts are 8 to 25 mm long (common knowledge; no callipers were at hand).
func TestSizesAreThoseOfBeans(t *testing.T) {
	for _, p := range All() {
		if p.Set != "beans-on-letter" || !p.Here(root) {
			continue
		}
		for _, g := range measure(t, p).Particles {
			if g.LengthMM < 8 || g.LengthMM > 25 {
				t.Errorf("%s: a bean of %.1f mm at %v", p.File, g.LengthMM, g.AtPx)
			}
		}
	}
}
