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

// The beat of a rule's ticks ends on one side at least; that of squares, of tiles, and of lines does not.
func TestTicksEndBeside(t *testing.T) {
	const w, h, period, edge = 1200, 700, 20, 350
	tick := func(x, y int) bool { return x%period < 4 && y >= edge && y < edge+60 }
	for name, c := range map[string]struct {
		ink  func(x, y int) bool
		want bool
	}{
		"rule":             {tick, true},
		"finer ticks next": {func(x, y int) bool { return tick(x, y) || y >= edge+60 && x%10 < 3 }, true},
		"lines below":      {func(x, y int) bool { return x%period < 4 && y >= edge }, true},
		"squares":          {func(x, y int) bool { return (x/10+y/10)%2 == 0 }, false},
		"tiles":            {func(x, y int) bool { return x%period < 4 || y%period < 4 }, false},
		"lines":            {func(x, y int) bool { return x%period < 4 }, false},
	} {
		p := picture{pix: make([]uint8, 3*w*h), width: w, height: h, step: 3 * w}
		for i := range w * h {
			v := uint8(200)
			if c.ink(i%w, i/w) {
				v = 30
			}
			p.pix[3*i], p.pix[3*i+1], p.pix[3*i+2] = v, v, v
		}
		r := ruleFit{beat: beat{a: math.Log(period)}, last: w / period, middle: w / period / 2, half: 1, poly: []float64{w / 2, period}}
		r.deep = p.readStrip(result.XY{0, edge + 25}, result.XY{1, 0}, w, 8*period, period/2)
		if got := r.endsBeside(); got != c.want {
			t.Errorf("%s: ends beside %v", name, got)
		}
	}
}

// What the unseen tilt adds beyond its slope: the scale at the middle, from a rule seen y focal lengths beside it, is
// off by (1 - y tan a) / sqrt(cos a); over tilts of the assumed spread its logarithm less its slope has the stated size.
func TestBowOfATiltedRule(t *testing.T) {
	p := picture{width: 1600, height: 1200}
	for _, y := range []float64{0, 0.1, 0.3} {
		f := fitted{view: view{f: 1100}}
		r := ruleFit{strip: &strip{origin: result.XY{0, 600 + y*1100}, dir: result.XY{1, 0}, normal: result.XY{0, 1}, light: [][]float64{make([]float64, 1600)}}}
		random := rand.New(rand.NewPCG(43, 1))
		sum, n := 0.0, 40000
		for range n {
			a := RuleTiltSDDeg * math.Pi / 180 * random.NormFloat64()
			e := math.Log(1-y*math.Tan(a)) - math.Log(math.Cos(a))/2 + y*a
			sum += e * e
		}
		if want, got := math.Sqrt(sum/float64(n)), r.bow(&f, p, Lens{}); math.Abs(got/want-1) > 0.08 { // smaller terms, and chance
			t.Errorf("%g focal lengths from the middle: %.5f, by chance %.5f", y, got, want)
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
