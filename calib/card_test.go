package calib

import (
	"errors"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"gristmark/calib/card"
	"gristmark/internal/result"
)

// OpenCV's detector reads back every marker of every sheet, where the sheet says it is.
func TestDetectorReadsEveryMarker(t *testing.T) {
	for _, s := range card.Sheets() {
		const dpi = 127.0 // 5 px/mm
		m := toMat(t, s.Raster(dpi), 0)
		p, err := newPicture(m)
		if err != nil {
			t.Fatal(err)
		}
		g, _, _, err := p.shrink(1e9)
		if err != nil {
			t.Fatal(err)
		}
		got, err := g.markers(windows{23, 23, 10}, 0.01)
		m.Close()
		if err != nil {
			t.Fatal(err)
		}
		seen := map[int]bool{}
		for _, f := range got {
			sheet, marker, ok := card.ByID(f.id)
			if !ok || sheet.Name != s.Name || seen[f.id] {
				t.Errorf("%s: unexpected marker %d", s.Name, f.id)
				continue
			}
			seen[f.id] = true
			for k, c := range marker.Corners() {
				// The detector's corners are good to about a pixel.
				if d := dist(f.corners[k], result.XY{c[0] * dpi / 25.4, c[1] * dpi / 25.4}); d > 1.6 {
					t.Errorf("%s marker %d corner %d is %.2f px off", s.Name, f.id, k, d)
				}
			}
		}
		if len(seen) != len(s.Markers) {
			t.Errorf("%s: %d of %d markers read", s.Name, len(seen), len(s.Markers))
		}
	}
}

// small is a scene of 1.1 megapixels at the scale of a 12-megapixel photo of a larger tray.
func small() scene {
	s := plain()
	s.width, s.height, s.focal = 1200, 900, 0.6*1500
	return s
}

// tiny is a scene of 0.6 megapixels, for photos in which nothing should be found.
func tiny() scene {
	s := plain()
	s.width, s.height, s.focal = 900, 675, 0.6*1125
	return s
}

// shake draws pose, blur and lens at random, the card up to off times the camera's height from the middle.
func (s scene) shake(r *rand.Rand, maxTiltDeg, off float64) scene {
	s.seed = r.Uint64()
	s.tilt, s.azimuth = r.Float64()*maxTiltDeg*math.Pi/180, r.Float64()*2*math.Pi
	s.roll = r.Float64() * 2 * math.Pi
	s.blur = 0.4 + r.Float64()*0.8
	s.focal *= 0.9 + 0.2*r.Float64()
	a, d := r.Float64()*2*math.Pi, r.Float64()*off*s.heightMM
	s.aim = result.XY{75 + d*math.Cos(a), 20 + d*math.Sin(a)}
	return s
}

// corners collects the distance between true and found corners of a sheet, px.
func (s scene) cornerErrors(p *Plane, sheet card.Sheet) (out []float64) {
	v := s.truth()
	for _, m := range sheet.Markers {
		for _, c := range m.Corners() {
			out = append(out, dist(v.toPx(c), p.ToPx(c)))
		}
	}
	return out
}

func TestCardInAnyPose(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 1))
	var corners []float64
	for i := range 8 {
		s := small().shake(r, 25, 0.25)
		s.quality = 90
		m := s.draw(t, sheetLayer(card.Card(), result.XY{}, 0))
		p, err := Find(m, Spec{Kind: Auto}, Lens{})
		m.Close()
		if err != nil {
			t.Errorf("scene %d: %v", i, err)
			continue
		}
		corners = append(corners, s.cornerErrors(p, card.Card())...)
		if e := s.scaleError(p); math.Abs(e) > 0.004 {
			t.Errorf("scene %d: scale off by %.2f %%", i, 100*e)
		}
		sc := p.Scale()
		if sc.From != "card" || sc.MarksUsed < 8 || sc.RelativeSD <= 0 || sc.Note != "" {
			t.Errorf("scene %d: %+v", i, sc)
		}
		// The tilt is known to a degree even without a known focal length.
		if d := math.Abs(sc.TiltDeg - s.tilt*180/math.Pi); d > 1.5 {
			t.Errorf("scene %d: tilt %.1f, drawn with %.1f degrees", i, sc.TiltDeg, s.tilt*180/math.Pi)
		}
		if d := math.Abs(sc.CameraMM - s.heightMM); d > 4*sc.CameraSDMM {
			t.Errorf("scene %d: camera at %.0f mm with s.d. %.0f, drawn at %.0f", i, sc.CameraMM, sc.CameraSDMM, s.heightMM)
		}
	}
	if m := median(corners); !(m < 0.15) {
		t.Errorf("median corner error %.3f px", m)
	}
}

func TestBarrelWithoutProfile(t *testing.T) {
	r := rand.New(rand.NewPCG(12, 1))
	for i := range 4 {
		s := small().shake(r, 25, 0.25)
		s.k1 = -0.06
		m := s.draw(t, sheetLayer(card.Card(), result.XY{}, 0))
		p, err := Find(m, Spec{Kind: Card}, Lens{})
		m.Close()
		if err != nil {
			t.Errorf("scene %d: %v", i, err)
		} else if e := s.scaleError(p); math.Abs(e) > 0.01 {
			t.Errorf("scene %d: scale off by %.2f %%", i, 100*e)
		}
	}
}

// A photo cut out of a larger one has its middle away from the lens's axis.
func TestCroppedPhoto(t *testing.T) {
	r := rand.New(rand.NewPCG(14, 1))
	for i := range 3 {
		s := small().shake(r, 25, 0.2)
		s.off = result.XY{r.Float64()*500 - 250, r.Float64()*400 - 200}
		s.k1 = -0.02
		m := s.draw(t, sheetLayer(card.Card(), result.XY{}, 0))
		p, err := Find(m, Spec{}, Lens{})
		m.Close()
		if err != nil {
			t.Errorf("scene %d: %v", i, err)
		} else if e := s.scaleError(p); math.Abs(e) > 0.006 {
			t.Errorf("scene %d: scale off by %.2f %%", i, 100*e)
		}
	}
}

func TestHalfOfTheCardCovered(t *testing.T) {
	for i, cover := range []func(result.XY) bool{
		func(mm result.XY) bool { return mm[0] > 75 },
		func(mm result.XY) bool { return mm[0] < 75 && mm[0] > -20 && mm[1] > -5 },
		func(mm result.XY) bool { return math.Mod(mm[0]+215, 45) < 9 }, // straws across it
		func(mm result.XY) bool { return mm[0]+mm[1] > 100 },           // markers partly covered
	} {
		s := small()
		s.tilt, s.roll, s.cover = 0.2, 0.5, cover
		s.aim = result.XY{110, 60}
		m := s.draw(t, sheetLayer(card.Card(), result.XY{}, 0))
		p, err := Find(m, Spec{Kind: Card}, Lens{})
		m.Close()
		if err != nil {
			t.Errorf("cover %d: %v", i, err)
		} else if e := s.scaleError(p); math.Abs(e) > 0.01 {
			t.Errorf("cover %d: scale off by %.2f %%, s.d. %.2f %%, %d+%d marks", i, 100*e, 100*p.Scale().RelativeSD, p.Scale().MarksUsed, p.Scale().MarksDropped)
		}
	}
}

func TestCardPartlyOutOfFrame(t *testing.T) {
	s := small()
	s.aim = result.XY{75 + 190, 20} // the left half of the card is outside
	m := s.draw(t, sheetLayer(card.Card(), result.XY{}, 0))
	defer m.Close()
	p, err := Find(m, Spec{Kind: Card}, Lens{})
	if err != nil {
		t.Fatal(err)
	}
	if e := s.scaleError(p); math.Abs(e) > 0.01 {
		t.Errorf("scale off by %.2f %%, s.d. %.2f %%", 100*e, 100*p.Scale().RelativeSD)
	}
}

func TestMats(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 1))
	for _, sheet := range []card.Sheet{card.MatA4(), card.MatA3()} {
		s := small().shake(r, 20, 0)
		s.roll = 0.1
		s.k1 = -0.03
		s.aim = result.XY{sheet.WidthMM / 2, sheet.HeightMM / 2}
		s.heightMM = sheet.WidthMM * 1.1
		// Chop covers a good part of the rim.
		s.cover = func(mm result.XY) bool { return mm[0] < sheet.WidthMM*0.3 && mm[1] < sheet.HeightMM*0.6 }
		m := s.draw(t, sheetLayer(sheet, result.XY{}, 0))
		p, err := Find(m, Spec{Kind: Auto}, Lens{})
		m.Close()
		if err != nil {
			t.Errorf("%s: %v", sheet.Name, err)
			continue
		}
		if e := s.scaleError(p); math.Abs(e) > 0.004 || p.Scale().From != "mat" {
			t.Errorf("%s: scale off by %.2f %%: %+v", sheet.Name, 100*e, p.Scale())
		}
		if len(p.Field()) == 0 || len(p.Exclude()) != 4 {
			t.Errorf("%s: %d field points, %d polygons to exclude", sheet.Name, len(p.Field()), len(p.Exclude()))
		}
	}
}

func TestCardOnMat(t *testing.T) {
	s := small()
	s.heightMM = 330
	s.aim = result.XY{148, 105}
	m := s.draw(t, sheetLayer(card.MatA4(), result.XY{}, 0), sheetLayer(card.Card(), result.XY{60, 90}, 0.2))
	defer m.Close()
	for kind, want := range map[Kind]string{Auto: "card", Mat: "mat"} {
		p, err := Find(m, Spec{Kind: kind}, Lens{})
		if err != nil {
			t.Fatal(err)
		}
		if e := s.scaleError(p); p.Scale().From != want || math.Abs(e) > 0.004 {
			t.Errorf("%s: scale off by %.2f %%: %+v", kind, 100*e, p.Scale())
		}
		if len(p.Exclude()) != 5 || len(p.Field()) == 0 {
			t.Errorf("%s: card and mat give %d polygons", kind, len(p.Exclude()))
		}
	}
}

func TestTwoCards(t *testing.T) {
	s := small()
	s.aim = result.XY{75, 50}
	one := sheetLayer(card.Card(), result.XY{}, 0)
	for _, c := range []struct {
		print float64
		want  error
	}{{1, nil}, {0.96, ErrConflict}} {
		two := sheetLayer(card.Card(), result.XY{0, 60}, 0.05)
		two.dpi /= c.print
		m := s.draw(t, one, two)
		_, err := Find(m, Spec{Kind: Card}, Lens{})
		m.Close()
		if !errors.Is(err, c.want) {
			t.Errorf("two cards, one printed at %g: %v", c.print, err)
		}
	}
}

func TestPrintScale(t *testing.T) {
	s := small()
	m := s.draw(t, sheetLayer(card.Card(), result.XY{}, 0))
	defer m.Close()
	a, err := Find(m, Spec{Kind: Card}, Lens{})
	if err != nil {
		t.Fatal(err)
	}
	b, err := Find(m, Spec{Kind: Card, PrintScale: 0.97}, Lens{})
	if err != nil {
		t.Fatal(err)
	}
	if q := b.Scale().MMPerPx / a.Scale().MMPerPx; math.Abs(q-0.97) > 1e-9 {
		t.Errorf("ratio %g", q)
	}
	back := b.ToPx(b.ToMM(result.XY{300, 200}))
	if dist(back, result.XY{300, 200}) > 1e-6 {
		t.Errorf("px to mm to px moves to %v", back)
	}
}

// Paper bent along its length, its middle 6 mm up, is noticed; flat paper is not accused.
func TestBentCardIsNoticed(t *testing.T) {
	s := small()
	s.aim = result.XY{75, 60}
	l := sheetLayer(card.Card(), result.XY{}, 0)
	l.bend = func(d result.XY) result.XY {
		z := 6 * math.Sin(math.Pi*math.Max(0, math.Min(1, d[0]/150)))
		f := (s.heightMM - z) / s.heightMM // what is higher looks larger about the camera's foot
		return result.XY{75 + (d[0]-75)*f, 60 + (d[1]-60)*f}
	}
	m := s.draw(t, l)
	defer m.Close()
	p, err := Find(m, Spec{Kind: Card}, Lens{})
	if err == nil && p.Scale().Note == "" || err != nil && !errors.Is(err, ErrDoubtful) {
		t.Errorf("not noticed: %+v %v %v %v", p.Scale(), p.fit.p, s.scaleError(p), err)
	}
}

// Photos without a card give no scale, whatever patterns they show.
func TestNoFalseScale(t *testing.T) {
	patterns := map[string]func(result.XY) bool{
		"nothing": nil,
		"tiles":   func(q result.XY) bool { return math.Mod(q[0]+1000, 22) < 2 || math.Mod(q[1]+1000, 22) < 2 },
		"mesh":    func(q result.XY) bool { return math.Mod(q[0]+1000, 7) < 5 && math.Mod(q[1]+1000, 7) < 5 },
		"board":   func(q result.XY) bool { return (int(q[0]+1000)/15+int(q[1]+1000)/15)%2 == 0 },
		"planks":  func(q result.XY) bool { return math.Mod(q[0]+1000, 60) < 3 },
	}
	for name, cover := range patterns {
		s := tiny()
		s.tray = color.NRGBA{60, 50, 40, 255}
		s.cover = cover
		m := s.draw(t)
		_, err := Find(m, Spec{Kind: Auto}, Lens{})
		m.Close()
		if !errors.Is(err, ErrNoRuler) {
			t.Errorf("%s: %v", name, err)
		}
	}
	// One marker alone is not enough.
	s := small()
	s.cover = func(q result.XY) bool { return q[0] > 30 }
	m := s.draw(t, sheetLayer(card.Card(), result.XY{}, 0))
	defer m.Close()
	if _, err := Find(m, Spec{Kind: Auto}, Lens{}); !errors.Is(err, ErrNoRuler) {
		t.Errorf("one marker: %v", err)
	}
}

func TestGivenScale(t *testing.T) {
	s := small()
	m := s.draw(t)
	defer m.Close()
	p, err := Find(m, Spec{Kind: Given, MMPerPx: 0.25}, Lens{FocalPx: 900})
	if err != nil {
		t.Fatal(err)
	}
	a, b := p.ToMM(result.XY{100, 100}), p.ToMM(result.XY{500, 400})
	if d := dist(a, b); math.Abs(d-125) > 1e-9 { // a 3-4-5 triangle of 500 px
		t.Errorf("500 px are %g mm", d)
	}
	if sc := p.Scale(); sc.From != "given" || math.Abs(sc.MMPerPx-0.25) > 1e-12 || sc.RelativeSD != AssumedGivenSD || sc.Note == "" {
		t.Errorf("%+v", sc)
	}
	if _, h, sd, ok := p.Foot(); !ok || math.Abs(h-225) > 1e-9 || sd <= 0 {
		t.Errorf("height %g, s.d. %g", h, sd)
	}
}

func TestParseSpec(t *testing.T) {
	for in, want := range map[string]Spec{
		"auto": {Kind: Auto}, "": {Kind: Auto}, "card": {Kind: Card}, "MAT": {Kind: Mat},
		"grid:10mm": {Kind: Grid, PitchMM: 10}, "grid:1in": {Kind: Grid, PitchMM: 25.4}, "rule:1": {Kind: Rule, PitchMM: 1},
		"rule:1/16in":       {Kind: Rule, PitchMM: 1.5875},
		"frame:190.5x254mm": {Kind: Frame, WidthMM: 190.5, HeightMM: 254},
		"frame:8.5inx11in":  {Kind: Frame, WidthMM: 215.9, HeightMM: 279.4},
		"frame:21x29.7cm":   {Kind: Frame, WidthMM: 210, HeightMM: 297},
		"card:98.6mm":       {Kind: Card, PrintScale: 0.986},
		"0.0577":            {Kind: Given, MMPerPx: 0.0577},
	} {
		got, err := ParseSpec(in)
		if err != nil || !near(got, want) {
			t.Errorf("%q: %+v, %v", in, got, err)
		}
	}
	for _, in := range []string{"cord", "grid", "grid:", "grid:0mm", "grid:-5mm", "rule:x", "rule:1/0in", "frame:20", "frame:20x", "frame:1x1mm", "0", "-1", "NaN", "1e9", "auto:3", "card:80mm", "given:2"} {
		if got, err := ParseSpec(in); !errors.Is(err, ErrSpec) {
			t.Errorf("%q: %+v, %v", in, got, err)
		}
	}
}

// near compares two specs, lengths to a nanometre.
func near(a, b Spec) bool {
	same := func(x, y float64) bool { return math.Abs(x-y) < 1e-6 }
	return a.Kind == b.Kind && same(a.PitchMM, b.PitchMM) && same(a.WidthMM, b.WidthMM) &&
		same(a.HeightMM, b.HeightMM) && same(a.MMPerPx, b.MMPerPx) && same(a.PrintScale, b.PrintScale)
}

func TestBadPhoto(t *testing.T) {
	m := toMat(t, card.Card().Raster(20), 0)
	defer m.Close()
	if _, err := Find(m, Spec{}, Lens{}); !errors.Is(err, ErrPhoto) {
		t.Error(err)
	}
}

func TestTwoPoints(t *testing.T) {
	s, err := TwoPoints(result.XY{100, 100}, result.XY{400, 500}, 100)
	if err != nil || math.Abs(s.MMPerPx-0.2) > 1e-12 || s.GivenSD < 0.01 || s.GivenSD > 0.02 {
		t.Errorf("%+v, %v", s, err)
	}
	if _, err := TwoPoints(result.XY{1, 1}, result.XY{2, 2}, 100); !errors.Is(err, ErrSpec) {
		t.Error(err)
	}
}
