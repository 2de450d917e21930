package vision

import (
	"image"
	"image/color"
	"testing"

	"gristmark/internal/result"
)

// lined is the picture with words printed over its bare ground: lines of so many mm, every so many mm, of which two thirds are ink.
func lined(img *image.NRGBA, bare color.NRGBA, pxPerMM, tallMM, everyMM float64, ink uint8) *image.NRGBA {
	out := image.NewNRGBA(img.Rect)
	copy(out.Pix, img.Pix)
	for y := range img.Rect.Dy() {
		if mm := float64(y) / pxPerMM; mm-everyMM*float64(int(mm/everyMM)) > tallMM {
			continue
		}
		for x := range img.Rect.Dx() {
			if int(float64(x)/pxPerMM/0.7+float64(y/8)*0.37)%3 < 2 && img.NRGBAAt(x, y) == bare {
				out.SetNRGBA(x, y, color.NRGBA{ink, ink, ink, 255})
			}
		}
	}
	return out
}

// Print under the pieces refuses the photo, of which some would be counted and others not; the same tray without print, or with a faint pattern, does not.
func TestPrintIsRefused(t *testing.T) {
	const w, h, pxPerMM = 960, 640, 8.0
	var outlines [][]result.XY
	for k := range 12 {
		outlines = append(outlines, turned(ellipse(8, 5), float64(k), result.XY{14 + float64(k%4)*28, 14 + float64(k/4)*26}))
	}
	plain := drawn(w, h, pxPerMM, navy, outlines, color.NRGBA{214, 180, 110, 255})
	for _, c := range []struct {
		name    string
		img     *image.NRGBA
		refused bool
	}{
		{"plain", plain, false},
		{"faint", lined(plain, navy, pxPerMM, 2.2, 4.2, 52), false},
		{"print", lined(plain, navy, pxPerMM, 2.2, 4.2, 150), true},
	} {
		a := analysed(t, c.img, level(1/pxPerMM), DefaultOptions())
		if got := checkNamed(t, a, "tray_noise"); got.OK == c.refused || (a.Problem != "") != c.refused {
			t.Errorf("%s: %d pieces, %+v, %q", c.name, len(a.Particles), got, a.Problem)
		}
	}
}
