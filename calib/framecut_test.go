package calib

import (
	"errors"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"gristmark/internal/result"
)

// A frame laid askew in a photo taken from near, so that corners lie outside.
func TestFrameWithCornersOutside(t *testing.T) {
	r := rand.New(rand.NewPCG(23, 1))
	paper, ink := color.NRGBA{235, 235, 230, 255}, color.NRGBA{30, 40, 90, 255}
	frame := framed(190, 254, 0.8, paper, ink)
	sheet := drawing(190, 254, result.XY{}, func(result.XY) color.NRGBA { return paper })
	for i := range 6 {
		s := small().shake(r, 15, 0)
		s.aim, s.heightMM, s.roll = result.XY{95, 127}, 250, math.Pi/2+pick(r, -1, 1)*(0.35+0.3*r.Float64())
		l := frame
		if i%2 == 1 {
			l = sheet
		}
		m := s.draw(t, l)
		v, outside := s.truth(), 0
		for _, q := range []result.XY{{0, 0}, {190, 0}, {190, 254}, {0, 254}} {
			if p := (&picture{width: s.width, height: s.height}); !p.shows(v.toPx(q)) {
				outside++
			}
		}
		p, err := Find(m, Spec{Kind: Frame, WidthMM: 190, HeightMM: 254}, Lens{FocalPx: s.focal})
		m.Close()
		if outside == 0 {
			t.Errorf("frame %d lies whole in the photo: nothing is tried", i)
		}
		if err != nil {
			t.Errorf("frame %d with %d corners outside: %v", i, outside, err)
			continue
		}
		if e := s.scaleError(p); math.Abs(e) > 0.006 || math.Abs(e) > 3.5*p.Scale().RelativeSD {
			t.Errorf("frame %d with %d corners outside: scale off by %.2f %%: %+v", i, outside, 100*e, p.Scale())
		}
	}
}

// A frame drawn on a sheet of just its shape: either may be meant, and the scale of the wrong one would be off by an eighth.
func TestFrameOnASheetOfItsShape(t *testing.T) {
	r := rand.New(rand.NewPCG(24, 1))
	paper, ink := color.NRGBA{235, 235, 230, 255}, color.NRGBA{30, 40, 90, 255}
	const w, h, grown = 190.0, 254.0, 1.15
	sheet := drawing(w*grown, h*grown, result.XY{}, func(q result.XY) color.NRGBA {
		x, y := math.Abs(q[0]-w*grown/2)-w/2, math.Abs(q[1]-h*grown/2)-h/2
		if math.Abs(math.Max(x, y)) < 0.4 {
			return ink
		}
		return paper
	})
	for i := range 4 {
		s := small().shake(r, 15, 0)
		s.aim, s.heightMM = result.XY{w * grown / 2, h * grown / 2}, 430
		m := s.draw(t, sheet)
		p, err := Find(m, Spec{Kind: Frame, WidthMM: w, HeightMM: h}, Lens{FocalPx: s.focal})
		m.Close()
		if err == nil {
			t.Errorf("sheet %d: a scale was stated, off by %.1f %%: %+v", i, 100*s.scaleError(p), p.Scale())
		} else if !errors.Is(err, ErrDoubtful) {
			t.Errorf("sheet %d: %v", i, err)
		}
	}
}

func pick(r *rand.Rand, of ...float64) float64 { return of[r.IntN(len(of))] }
