package vision

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// underWall is the picture with less light where the distance across, px, is beyond at: a shadow with an edge of some mm.
func underWall(img *image.NRGBA, at, penumbra, light float64, across func(x, y int) float64) *image.NRGBA {
	out := image.NewNRGBA(img.Rect)
	for i := range img.Pix {
		if i%4 == 3 {
			out.Pix[i] = 255
			continue
		}
		x, y := i/4%img.Rect.Dx(), i/4/img.Rect.Dx()
		shade := 1 / (1 + math.Exp(-(across(x, y)-at)/penumbra))
		out.Pix[i] = stored(float64(linear[img.Pix[i]]) / 255 * (1 - shade*(1-light)))
	}
	return out
}

func foundAt(a *Analysis, centres []result.XY) (missed, extra int) {
	found := map[int]bool{}
	for _, c := range centres {
		hit := false
		for i, p := range a.Particles {
			if shape.Contains(p.OutlinePx, c) {
				hit, found[i] = true, true
			}
		}
		if !hit {
			missed++
		}
	}
	return missed, len(a.Particles) - len(found)
}

// centresOf are those of the pieces that strewn lays, px.
func centresOf() (out []result.XY) {
	for i := range 35 {
		out = append(out, result.XY{8 * (16 + float64(i%7)*20), 8 * (14 + float64(i/7)*21)})
	}
	return out
}

// Neither half of a tray across which a hard shadow lies is lost, whether the ruler lies in the light, in the shadow, or there is none.
func TestBothSidesOfAShadowAreTray(t *testing.T) {
	grey := color.NRGBA{214, 213, 209, 255}
	img, _ := strewn(grey, yellow, color.NRGBA{74, 92, 34, 255}, 17, 3)
	slant := func(x, y int) float64 { return float64(x) + 0.4*float64(y) }
	card := [2][]result.XY{{{0, 0}, {360, 0}, {360, 60}, {0, 60}}, {{840, 840}, {1200, 840}, {1200, 896}, {840, 896}}}
	for name, c := range map[string]struct {
		at    float64
		ruler []result.XY
	}{"light": {500, card[0]}, "shadow": {900, card[1]}, "wide light": {900, card[0]}, "wide shadow": {500, card[1]}, "none": {620, nil}} {
		opt := DefaultOptions()
		if c.ruler != nil {
			opt.Exclude = [][]result.XY{c.ruler}
		}
		a := analysed(t, underWall(img, c.at, 12, 0.3, slant), level(1./8), opt)
		missed, extra := foundAt(a, centresOf())
		if missed > 1 || extra > 1 || a.Problem != "" {
			t.Errorf("ruler in %s: %d of 35 missed, %d extras; %s", name, missed, extra, a.Problem)
		}
		if b := checkNamed(t, a, "beyond_tray"); !b.OK {
			t.Errorf("ruler in %s: %v of the pieces beyond the tray", name, b.Value)
		}
	}
}

// A ruler on the table beside the tray does not make the table the tray, however large it is; that is said.
func TestRulerBesideTheTray(t *testing.T) {
	tray, _ := strewn(navy, yellow, color.NRGBA{150, 160, 90, 255}, 17, 3)
	r := rand.New(rand.NewPCG(5, 6))
	table := image.NewNRGBA(image.Rect(0, 0, 1700, 1500))
	for i := range table.Pix {
		table.Pix[i] = uint8(142 + r.IntN(9))
		if i%4 == 3 {
			table.Pix[i] = 255
		}
	}
	shift := image.Pt(300, 480)
	draw.Draw(table, tray.Rect.Add(shift), tray, image.Point{}, draw.Src)
	opt := DefaultOptions()
	opt.Exclude = [][]result.XY{{{200, 60}, {1400, 60}, {1400, 380}, {200, 380}}}
	a := analysed(t, table, level(1./8), opt)
	var centres []result.XY
	for _, c := range centresOf() {
		centres = append(centres, result.XY{c[0] + float64(shift.X), c[1] + float64(shift.Y)})
	}
	if missed, extra := foundAt(a, centres); missed > 0 || extra > 0 || a.Problem != "" {
		t.Errorf("%d of 35 missed, %d extras; %s", missed, extra, a.Problem)
	}
	if !strings.Contains(strings.Join(a.Notes, ";"), "beside the tray") {
		t.Errorf("notes %q", a.Notes)
	}
}
