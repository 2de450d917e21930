package vision

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

var (
	cream  = color.NRGBA{252, 249, 238, 255} // a pale tray
	tan    = color.NRGBA{203, 172, 124, 255} // a plank
	nearly = map[color.NRGBA]color.NRGBA{    // what nearly has the colour of the tray
		cream: {247, 242, 225, 255},
		tan:   {197, 167, 112, 255},
	}
)

// strewn lays kernels and, between them, straws of another colour, on a tray of 150 × 112 mm. Grain is that of tray and photo, of 255.
func strewn(tray, kernel, straw color.NRGBA, straws, grain int) (img *image.NRGBA, hidden []result.XY) {
	const pxPerMM = 8
	r := rand.New(rand.NewPCG(3, 4))
	var ovals, sticks [][]result.XY
	for i := range 35 {
		at := result.XY{16 + float64(i%7)*20, 14 + float64(i/7)*21}
		if i%2 == 0 || straws == 0 {
			var o []result.XY
			for k := range 24 {
				angle := 2 * math.Pi * float64(k) / 24
				o = append(o, result.XY{4.6 * math.Cos(angle), 3.2 * math.Sin(angle)})
			}
			ovals = append(ovals, turned(o, r.Float64()*3, at))
		} else if len(hidden) < straws {
			sticks = append(sticks, turned(rectangle(11, 2.4), r.Float64()*3, at))
			hidden = append(hidden, result.XY{at[0] * pxPerMM, at[1] * pxPerMM})
		}
	}
	img = drawn(150*pxPerMM, 112*pxPerMM, pxPerMM, tray, ovals, kernel)
	for i, c := range drawn(150*pxPerMM, 112*pxPerMM, pxPerMM, tray, sticks, straw).Pix {
		if c != [4]uint8{tray.R, tray.G, tray.B, 255}[i%4] {
			img.Pix[i] = c
		}
	}
	for i := range img.Pix {
		if i%4 != 3 {
			img.Pix[i] = uint8(min(max(int(img.Pix[i])+r.IntN(2*grain+1)-grain, 0), 255))
		}
	}
	return img, hidden
}

func checkNamed(t *testing.T, a *Analysis, name string) result.Check {
	t.Helper()
	for _, c := range a.Checks {
		if c.Name == name {
			return c
		}
	}
	t.Fatalf("no check %s", name)
	return result.Check{}
}

func inAny(outlines [][]result.XY, p result.XY) bool {
	for _, o := range outlines {
		if shape.Contains(o, p) {
			return true
		}
	}
	return false
}

// On a tray of nearly their colour, straws are found or lie in a region that is told; none is lost silently. The kernels, which
// stand out, lie in none.
func TestFaintPiecesAreFoundOrTold(t *testing.T) {
	total := 0
	for tray, straw := range nearly {
		img, hidden := strewn(tray, color.NRGBA{150, 84, 20, 255}, straw, 12, 2)
		a := analysed(t, img, level(1./8), DefaultOptions())
		c := checkNamed(t, a, "low_contrast")
		var found [][]result.XY
		for _, p := range a.Particles {
			found = append(found, p.OutlinePx)
		}
		told, lost := 0, 0
		for _, p := range hidden {
			switch {
			case inAny(c.RegionsPx, p):
				told++
			case !inAny(found, p):
				lost++
			}
		}
		total += told
		if lost > 0 || c.OK != (told == 0) || c.OK != (c.Advice == "") || c.Refuses {
			t.Errorf("on %v: %d of %d told, %d lost; %+v", tray, told, len(hidden), lost, c.Value)
		}
		for _, p := range a.Particles {
			if p.PKernel() > 0.5 && inAny(c.RegionsPx, p.AtPx) {
				t.Errorf("on %v: the kernel at %v lies in a region", tray, p.AtPx)
			}
		}
		if a.Problem != "" {
			t.Errorf("on %v: refused: %s", tray, a.Problem)
		}
	}
	if total < 6 {
		t.Errorf("only %d straws were too faint: the test shows little", total)
	}
}

// Plain trays that are far from every colour of maize are never flagged, whatever little stands out on them.
func TestPlainTraysAreNeverFlagged(t *testing.T) {
	for _, tray := range []color.NRGBA{navy, {14, 14, 16, 255}, {24, 92, 44, 255}, {168, 30, 34, 255}, {20, 70, 168, 255}} {
		dirt := color.NRGBA{tray.R + 14, tray.G + 14, tray.B + 12, 255}
		img, _ := strewn(tray, yellow, dirt, 12, 4)
		a := analysed(t, img, level(1./8), DefaultOptions())
		if c := checkNamed(t, a, "low_contrast"); !c.OK || c.Value != 0 || len(c.RegionsPx) > 0 {
			t.Errorf("on %v: %+v", tray, c)
		}
		if c := checkNamed(t, a, "told_apart"); !c.OK || c.Value != 1 {
			t.Errorf("on %v: %+v", tray, c)
		}
	}
}

// Where it is too much of the tray, the photo is refused with what to do.
func TestTooMuchLowContrastIsRefused(t *testing.T) {
	checks := toldChecks(faint{share: 0.3}, 100)
	if problem(checks) == "" || checks[0].OK {
		t.Errorf("%+v", checks)
	}
	if checks = toldChecks(faint{share: 0.2}, 100); problem(checks) != "" || checks[0].OK {
		t.Errorf("%+v", checks)
	}
}

// So is a photo of which many pieces are told but not counted: a stain or two beside few pieces, or a few of many, refuse none.
func TestTooManyLostAreRefused(t *testing.T) {
	for _, c := range []struct {
		seen, counted int
		refused       bool
	}{{0, 90, false}, {1, 3, false}, {4, 8, false}, {10, 132, false}, {13, 124, false}, {12, 76, true}, {21, 64, true}, {8, 5, true}} {
		checks := toldChecks(faint{share: 0.02, lost: c.seen}, c.counted)
		if refused := problem(checks) != ""; refused != c.refused {
			t.Errorf("%d told beside %d counted: refused %v", c.seen, c.counted, refused)
		}
	}
}
