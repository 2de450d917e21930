package vision

import (
	"image/color"
	"math"
	"testing"

	"gristmark/internal/result"
)

// tiles is a tray of 40 x 30 cells whose light is that of the given column.
func tiles(light func(x int) float64) (background, field) {
	const w, h = 40, 30
	b, f := background{w: w, h: h, color: make([][3]float32, w*h)}, field{mask: make([]bool, w*h)}
	for i := range b.color {
		b.color[i][0] = float32(100 * math.Cbrt(light(i%w)))
		f.mask[i] = i%w > 1
	}
	return b, f
}

// What lies in deep shade is lifted to the light of the rest, a tray that fades from side to side is not, nor is what lies beyond the field.
func TestEvenness(t *testing.T) {
	b, f := tiles(func(x int) float64 { return 0.3 + 0.7*math.Min(1, float64(x/10)) })
	l := levelOf(&b, &f)
	for x, want := range map[int]float64{0: 1, 5: 1 / 0.3, 15: 1, 39: 1} {
		if got := l.at(result.XY{float64(x*cellPx) + 1, 50}); math.Abs(got/want-1) > 1e-4 {
			t.Errorf("column %d: lifted by %.3f, want %.3f", x, got, want)
		}
	}
	b, f = tiles(func(x int) float64 { return 0.6 + 0.01*float64(x) })
	if l := levelOf(&b, &f); l.gain != nil || l.at(result.XY{3, 3}) != 1 {
		t.Error("a tray that fades is lifted")
	}
}

// A piece is named in the shadow of a wall as in the sun, but for one or two across its edge: without levelling eight are named otherwise.
func TestShadowDoesNotMatter(t *testing.T) {
	img, _ := strewn(color.NRGBA{214, 213, 209, 255}, color.NRGBA{206, 160, 66, 255}, color.NRGBA{150, 140, 84, 255}, 17, 3)
	across := func(x, y int) float64 { return float64(x) - 0.3*float64(y) }
	lit := analysed(t, img, level(1./8), DefaultOptions())
	dark := analysed(t, underWall(img, 500, 12, 0.2, across), level(1./8), DefaultOptions())
	other := 0
	for _, c := range centresOf() {
		if a, b := stoverAt(lit, c), stoverAt(dark, c); math.Abs(a-b) > 0.4 {
			other++
		}
	}
	if other > 2 {
		t.Errorf("%d of 35 pieces are something else in the shadow", other)
	}
}

// stoverAt is the chance that the piece there is stover; a half where there is none.
func stoverAt(a *Analysis, at result.XY) float64 {
	for _, p := range a.Particles {
		if math.Hypot(p.AtPx[0]-at[0], p.AtPx[1]-at[1]) < 20 {
			return p.PStover
		}
	}
	return 0.5
}
