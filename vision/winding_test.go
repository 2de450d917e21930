package vision

import (
	"image/color"
	"math"
	"testing"

	"gristmark/internal/result"
)

// fold is a winding line, mm: a ribbon along a sine.
func fold(at result.XY, width float64) (out []result.XY) {
	const n = 60
	line := func(i int) result.XY {
		t := float64(i) / n * 4 * math.Pi
		return result.XY{at[0] + 1.4*t, at[1] + 5*math.Sin(t)}
	}
	for i := range n + 1 {
		p := line(i)
		out = append(out, result.XY{p[0], p[1] + width/2})
	}
	for i := n; i >= 0; i-- {
		p := line(i)
		out = append(out, result.XY{p[0], p[1] - width/2})
	}
	return out
}

// The folds of a film are no chop, bent straws are.
func TestFoldsAreRefused(t *testing.T) {
	const w, h, pxPerMM = 1200, 900, 8.0
	for name, refused := range map[string]bool{"folds": true, "bows": false} {
		var outlines [][]result.XY
		for k := range 24 {
			at := result.XY{10 + float64(k%6)*23, 12 + float64(k/6)*27}
			switch {
			case k%3 > 0:
				outlines = append(outlines, turned(ellipse(8, 5), float64(k), result.XY{at[0] + 6, at[1]}))
			case refused:
				outlines = append(outlines, fold(at, 1.6))
			default:
				outlines = append(outlines, bow(result.XY{at[0] + 8, at[1]}, 7, 1.6))
			}
		}
		a := analysed(t, drawn(w, h, pxPerMM, navy, outlines, color.NRGBA{214, 200, 150, 255}), level(1/pxPerMM), DefaultOptions())
		c := checkNamed(t, a, "winding")
		if c.OK == refused || (a.Problem != "") != refused || refused && a.Problem != c.Advice {
			t.Errorf("%s: %d pieces, %+v, %q", name, len(a.Particles), c, a.Problem)
		}
	}
}

// bow is a third of a ring.
func bow(centre result.XY, radius, width float64) (out []result.XY) {
	const n = 30
	for i := range n + 1 {
		a := 2 * math.Pi / 3 * float64(i) / n
		out = append(out, result.XY{centre[0] + (radius+width/2)*math.Cos(a), centre[1] + (radius+width/2)*math.Sin(a)})
	}
	for i := n; i >= 0; i-- {
		a := 2 * math.Pi / 3 * float64(i) / n
		out = append(out, result.XY{centre[0] + (radius-width/2)*math.Cos(a), centre[1] + (radius-width/2)*math.Sin(a)})
	}
	return out
}
