package calib

import (
	"errors"
	"image/color"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gristmark/calib/card"
	"gristmark/internal/result"
)

// worn is a steel rule whose edge shines and is bevelled, scratched and chipped; its ticks begin some way inside.
func worn(fromMM, bevelMM float64, seed uint64) layer {
	r := rand.New(rand.NewPCG(seed, 1))
	var chips []result.XY // where along the edge, and how deep
	for range 12 {
		chips = append(chips, result.XY{300 * r.Float64(), 0.2 + 0.7*r.Float64()})
	}
	return drawing(300, 25, result.XY{}, func(q result.XY) color.NRGBA {
		level := 175.0
		if q[1] < bevelMM { // lighter towards the edge
			level += 60 * (1 - q[1]/bevelMM)
		}
		for _, c := range chips {
			if math.Abs(q[0]-c[0]) < 1.5 && q[1] < c[1] {
				level = 90
			}
		}
		k := math.Round(q[0] - 5)
		length := 3.0
		switch n := int(k); {
		case n%10 == 0:
			length = 7
		case n%5 == 0:
			length = 5
		}
		if k >= 0 && math.Abs(q[0]-5-k) < 0.11 && q[1] > fromMM && q[1] < fromMM+length {
			level *= 0.15
		}
		return color.NRGBA{uint8(level), uint8(level), uint8(level + 4), 255}
	})
}

// Rules are found whose ticks do not reach the edge, and whose edge is bevelled and worn.
func TestWornRules(t *testing.T) {
	r := rand.New(rand.NewPCG(43, 1))
	for i, c := range []struct{ from, bevel float64 }{{1.2, 0.01}, {0, 1.5}, {0.8, 2.5}, {2.5, 2}} {
		s := small().shake(r, 2, 0)
		s.blur = 0.6
		s.heightMM, s.aim = 165, result.XY{100, 40}
		m := s.draw(t, worn(c.from, c.bevel, uint64(i)))
		p, err := Find(m, Spec{Kind: Rule, PitchMM: 1}, Lens{})
		m.Close()
		if err != nil {
			t.Errorf("rule %d: %v", i, err)
			continue
		}
		if e := s.scaleError(p); math.Abs(e) > 0.015 {
			t.Errorf("rule %d: scale off by %.2f %%", i, 100*e)
		}
	}
}

// A sheet is found where the photo cuts a corner of it off, and where another sheet's edge lies beside it.
func TestSheetCutOffOrBesideAnother(t *testing.T) {
	white, grey, cream := color.NRGBA{235, 235, 230, 255}, color.NRGBA{70, 75, 70, 255}, color.NRGBA{200, 190, 165, 255}
	sheet := drawing(210, 297, result.XY{}, func(result.XY) color.NRGBA { return white })
	other := drawing(120, 200, result.XY{226, 40}, func(result.XY) color.NRGBA { return cream })
	for name, c := range map[string]struct {
		layers []layer
		aim    result.XY
		roll   float64
		height float64
	}{
		"cut off": {[]layer{sheet}, result.XY{95, 90}, math.Pi/2 + 0.22, 285},
		"beside":  {[]layer{other, sheet}, result.XY{130, 148}, math.Pi/2 + 0.05, 460},
	} {
		s := small()
		s.tray, s.aim, s.roll, s.heightMM, s.tilt = grey, c.aim, c.roll, c.height, 0.1
		m := s.draw(t, c.layers...)
		p, err := Find(m, Spec{Kind: Frame, WidthMM: 210, HeightMM: 297}, Lens{})
		m.Close()
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if e := s.scaleError(p); math.Abs(e) > 0.006 {
			t.Errorf("%s: scale off by %.2f %%", name, 100*e)
		}
		v := s.truth()
		out := 0
		for _, q := range []result.XY{{0, 0}, {210, 0}, {210, 297}, {0, 297}} {
			if px := v.toPx(q); px[0] < 0 || px[1] < 0 || px[0] > float64(s.width) || px[1] > float64(s.height) {
				out++
			}
		}
		if name == "cut off" && out == 0 {
			t.Error("no corner is cut off")
		}
	}
}

// Two markers that contradict each other are not said to be too few.
func TestContradictingMarkersAreSaidSo(t *testing.T) {
	ids := card.MatA4().Markers
	err := noSheet([]found{{id: ids[0].ID}, {id: ids[5].ID}}, []string{"mat"})
	if !errors.Is(err, ErrNoRuler) || strings.Contains(err.Error(), "needed") || !strings.Contains(err.Error(), "one flat mat") {
		t.Error(err)
	}
	if err := noSheet([]found{{id: ids[0].ID}}, []string{"mat"}); !strings.Contains(err.Error(), "1 of the 2 markers needed") {
		t.Error(err)
	}
	if err := noSheet([]found{{id: ids[0].ID}, {id: ids[5].ID}}, []string{"card"}); !strings.Contains(err.Error(), "no card") {
		t.Error(err)
	}
}
