package calib

import (
	"errors"
	"image/color"
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"gocv.io/x/gocv"

	"gristmark/calib/card"
	"gristmark/internal/result"
)

// ruled is a rule of w x 25 mm with ticks of a pitch on its upper edge; every per-th the longest.
func ruled(w, pitch float64, per int, body, ink color.NRGBA) layer {
	return drawing(w, 25, result.XY{}, func(q result.XY) color.NRGBA {
		k := math.Round((q[0] - 5) / pitch)
		if k < 0 || math.Abs(q[0]-5-k*pitch) > 0.11 {
			return body
		}
		length := 3.0
		switch n := int(k); {
		case n%per == 0:
			length = 7
		case n%(per/2) == 0:
			length = 5
		}
		if q[1] < length {
			return ink
		}
		return body
	})
}

func TestRules(t *testing.T) {
	r := rand.New(rand.NewPCG(41, 1))
	steel, black, yellow := color.NRGBA{190, 190, 195, 255}, color.NRGBA{20, 20, 20, 255}, color.NRGBA{230, 200, 40, 255}
	straws := func(q result.XY) bool { return math.Mod(q[0]+0.3*q[1]+900, 60) < 9 }
	for i, c := range []struct {
		pitch   float64
		per     int
		body    color.NRGBA
		tiltDeg float64
		cover   func(result.XY) bool
	}{
		{1, 10, steel, 2, nil},
		{1, 10, yellow, 2, straws},
		{25.4 / 16, 16, steel, 2, nil},
		{1, 10, steel, 8, nil},
	} {
		s := small().shake(r, c.tiltDeg, 0)
		s.blur = 0.6
		s.heightMM, s.aim, s.cover = 165, result.XY{100, 40}, c.cover
		m := s.draw(t, ruled(300, c.pitch, c.per, c.body, black))
		p, err := Find(m, Spec{Kind: Rule, PitchMM: c.pitch}, Lens{})
		m.Close()
		if err != nil {
			t.Errorf("rule %d: %v", i, err)
			continue
		}
		v := s.truth()
		along := dist(p.ToMM(v.toPx(result.XY{60, 2})), p.ToMM(v.toPx(result.XY{140, 2})))/80 - 1
		e, sd := s.scaleError(p), p.Scale().RelativeSD
		if math.Abs(along) > 0.005 {
			t.Errorf("rule %d: off by %.2f %% along the rule", i, 100*along)
		}
		if math.Abs(e) > 2.5*sd || c.tiltDeg <= 2 && math.Abs(e) > 0.015 {
			t.Errorf("rule %d: scale off by %.2f %%, s.d. %.2f %%", i, 100*e, 100*sd)
		}
		if p.Scale().Note == "" || p.Scale().From != "rule" || len(p.Exclude()) != 1 {
			t.Errorf("rule %d: %+v", i, p.Scale())
		}
	}
}

// The wrong pitch is not taken for the right one, and no ticks are seen where there are none.
func TestNoFalseRule(t *testing.T) {
	steel, black := color.NRGBA{190, 190, 195, 255}, color.NRGBA{20, 20, 20, 255}
	s := small()
	s.blur, s.heightMM, s.aim = 0.6, 165, result.XY{100, 40}
	m := s.draw(t, ruled(300, 1, 10, steel, black))
	for _, pitch := range []float64{0.5, 2, 25.4 / 16, 25.4 / 32, 10} {
		if p, err := Find(m, Spec{Kind: Rule, PitchMM: pitch}, Lens{}); err == nil {
			t.Errorf("mm ticks passed for %g mm: %+v", pitch, p.Scale())
		}
	}
	m.Close()
	for name, cover := range map[string]func(result.XY) bool{
		"nothing": nil,
		"board":   func(q result.XY) bool { return (int(q[0]+1000)/4+int(q[1]+1000)/4)%2 == 0 },
		"mesh":    func(q result.XY) bool { return math.Mod(q[0]+1000, 5) < 3 && math.Mod(q[1]+1000, 5) < 3 },
	} {
		s.cover = cover
		m := s.draw(t)
		p, err := Find(m, Spec{Kind: Rule, PitchMM: 1}, Lens{})
		m.Close()
		if err == nil {
			t.Errorf("%s: %+v", name, p.Scale())
		} else if !errors.Is(err, ErrNoRuler) && !errors.Is(err, ErrDoubtful) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A steel tape lies along the lower edge of photographs of stubble. By eye on prints of two of them: px
// between the labels of 15 and 31 cm, to 8 px.
func TestTapeOnPhotographs(t *testing.T) {
	dir := photos(t, "stubble-tape")
	if dir == "" {
		return
	}
	files, _ := filepath.Glob(filepath.Join(dir, "*.jpg"))
	if len(files) != 3 {
		t.Fatalf("%d photographs", len(files))
	}
	for _, f := range files {
		m := gocv.IMRead(f, gocv.IMReadColor)
		p, err := Find(m, Spec{Kind: Rule, PitchMM: 1}, Lens{})
		m.Close()
		if err != nil {
			t.Errorf("%s: %v", filepath.Base(f), err)
			continue
		}
		labels, read := map[string][2]result.XY{
			"sq_5.jpg": {{905, 2960}, {1868, 2970}}, "sq_7.jpg": {{955, 2990}, {1881, 2990}},
		}[filepath.Base(f)]
		if q := dist(p.ToMM(labels[0]), p.ToMM(labels[1])); read && math.Abs(q-160) > 0.015*160 {
			t.Errorf("%s: 160 mm of the tape measure %.1f mm", filepath.Base(f), q)
		}
	}
}

// A card printed at 97 % is found out by the rule beside it.
func TestCheckPrint(t *testing.T) {
	s := small()
	s.blur, s.heightMM, s.aim, s.tilt = 0.5, 165, result.XY{75, 45}, 0.1
	sheet := sheetLayer(card.Card(), result.XY{0, 0}, 0)
	sheet.dpi /= 0.97
	rule := ruled(190, 1, 10, color.NRGBA{190, 190, 195, 255}, color.NRGBA{20, 20, 20, 255})
	rule.at = result.XY{-15, 45}
	m := s.draw(t, sheet, rule)
	got, err := CheckPrint(m)
	m.Close()
	if err != nil || math.Abs(got-0.97) > 0.003 {
		t.Errorf("print scale %.4f, %v", got, err)
	}
	m = s.draw(t, sheet)
	defer m.Close()
	if got, err := CheckPrint(m); !errors.Is(err, ErrNoRuler) {
		t.Errorf("without a rule: %.4f, %v", got, err)
	}
}
