package calib

import (
	"errors"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"gristmark/internal/result"
)

// gridded is a sheet of w x h mm with lines of a pitch, every heavy-th of them thicker.
func gridded(w, h, pitch, lineMM float64, heavy int, paper, ink color.NRGBA) layer {
	on := func(x float64) bool {
		k := math.Round(x / pitch)
		width := lineMM
		if heavy > 0 && int(k)%heavy == 0 {
			width *= 2
		}
		return math.Abs(x-k*pitch) < width/2
	}
	return drawing(w, h, result.XY{}, func(q result.XY) color.NRGBA {
		if on(q[0]) || on(q[1]) {
			return ink
		}
		return paper
	})
}

func TestGrids(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 1))
	green, pale, white, blue := color.NRGBA{30, 80, 60, 255}, color.NRGBA{190, 200, 180, 255}, color.NRGBA{240, 240, 235, 255}, color.NRGBA{60, 90, 150, 255}
	scraps := func(q result.XY) bool { // a good third of the sheet
		return math.Mod(q[0]*0.8+q[1]*0.6+900, 37) < 14 && math.Mod(q[0]*0.6-q[1]*0.8+900, 23) < 21
	}
	for i, c := range []struct {
		pitch, line float64
		heavy       int
		paper, ink  color.NRGBA
		cover       func(result.XY) bool
		k1          float64
	}{
		{10, 0.5, 5, green, pale, nil, 0},
		{10, 0.6, 0, white, blue, scraps, -0.02},
		{25.4, 0.7, 0, green, pale, scraps, -0.06},
		{5, 0.4, 2, white, blue, nil, -0.02},
	} {
		s := small().shake(r, 25, 0)
		s.heightMM, s.aim, s.cover, s.k1 = 240, result.XY{150, 110}, c.cover, c.k1
		s.blur = 0.7
		m := s.draw(t, gridded(300, 220, c.pitch, c.line, c.heavy, c.paper, c.ink))
		p, err := Find(m, Spec{Kind: Grid, PitchMM: c.pitch}, Lens{})
		m.Close()
		if err != nil {
			t.Errorf("grid %d: %v", i, err)
			continue
		}
		if e := s.scaleError(p); math.Abs(e) > 0.006 || p.Scale().From != "grid" {
			t.Errorf("grid %d: scale off by %.2f %%: %+v", i, 100*e, p.Scale())
		}
	}
}

func TestNoFalseGrid(t *testing.T) {
	patterns := map[string]func(result.XY) bool{
		"nothing": nil,
		"straws":  func(q result.XY) bool { return math.Mod(q[0]+q[1]*0.7+900, 23) < 5 },
		"planks":  func(q result.XY) bool { return math.Mod(q[0]+1000, 60) < 3 },
		"scraps": func(q result.XY) bool {
			return math.Mod(q[0]*0.8+q[1]*0.6+900, 37) < 14 && math.Mod(q[0]*0.6-q[1]*0.8+900, 23) < 21
		},
	}
	for name, cover := range patterns {
		s := tiny()
		s.cover = cover
		m := s.draw(t)
		p, err := Find(m, Spec{Kind: Grid, PitchMM: 10}, Lens{})
		m.Close()
		if err == nil {
			t.Errorf("%s: %+v", name, p.Scale())
		} else if !errors.Is(err, ErrNoRuler) && !errors.Is(err, ErrDoubtful) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestCombTakesTheLargestSpacing(t *testing.T) {
	var marks []mark1
	for i := range 20 {
		if i%4 != 1 { // some hidden
			marks = append(marks, mark1{3 + 7*float64(i), 1})
		}
	}
	spacing, first, strength := comb(marks, 1, 60)
	if math.Abs(spacing-7) > 0.01 || strength < 0.99 || math.Abs(math.Remainder(first-3, 7)) > 0.05 {
		t.Errorf("spacing %g from %g, strength %g", spacing, first, strength)
	}
}

// Lines at uneven distances are no grid, though most of a lattice's lines may have one near them.
func TestUnevenLinesAreNoGrid(t *testing.T) {
	c := gridCheck{lines: 36, dead: 5}
	if c.uneven() {
		t.Error("five hidden lines of 36 make a grid uneven")
	}
	c.dead = 10
	if !c.uneven() {
		t.Error("ten missing lines of 36 count as even")
	}
}

// Close lines of a tilted grid: from the comb of its middle the way to the next line must not be lost.
func TestCloseLinesOfATiltedGrid(t *testing.T) {
	r := rand.New(rand.NewPCG(32, 1))
	found := 0
	const tries = 8
	for i := range tries {
		s := small().shake(r, 3, 0)
		s.tilt, s.aim, s.heightMM, s.blur = 0.35+0.08*r.Float64(), result.XY{150, 110}, 250, 0.6
		m := s.draw(t, gridded(300, 220, 5, 0.4, 0, color.NRGBA{30, 80, 60, 255}, color.NRGBA{190, 200, 180, 255}))
		p, err := Find(m, Spec{Kind: Grid, PitchMM: 5}, Lens{})
		m.Close()
		if err != nil {
			t.Logf("grid %d: %v", i, err)
			continue
		}
		found++
		if e := s.scaleError(p); math.Abs(e) > 0.006 {
			t.Errorf("grid %d: scale off by %.2f %%: %+v", i, 100*e, p.Scale())
		}
	}
	if found < tries-1 { // one in eight may be too faint
		t.Errorf("%d of %d grids with lines some 18 px apart were found", found, tries)
	}
}
