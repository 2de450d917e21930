package calib

import (
	"math"
	"math/rand/v2"
	"testing"

	"gristmark/calib/card"
	"gristmark/internal/result"
)

func TestExplore(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	for i := range 30 {
		s := plain()
		s.seed = uint64(i)
		s.tilt = r.Float64() * 25 * math.Pi / 180
		s.azimuth = r.Float64() * 2 * math.Pi
		s.roll = r.Float64() * 2 * math.Pi
		s.blur = 0.5 + r.Float64()*1.5
		s.heightMM = 200 + r.Float64()*200
		s.k1 = -0.06 * r.Float64()
		s.quality = 85
		s.focal *= 0.9 + 0.2*r.Float64()
		a := r.Float64() * 2 * math.Pi
		d := r.Float64() * 0.25 * s.heightMM
		s.aim = result.XY{75 + d*math.Cos(a), 20 + d*math.Sin(a)}
		m := s.draw(t, sheetLayer(card.Card(), result.XY{}, 0))
		p, err := Find(m, Spec{}, Lens{})
		m.Close()
		if err != nil {
			t.Logf("%d: %v", i, err)
			continue
		}
		sc := p.Scale()
		v := s.truth()
		var worst float64
		for _, mk := range card.Card().Markers {
			for _, c := range mk.Corners() {
				worst = max(worst, dist(v.toPx(c), p.ToPx(c)))
			}
		}
		t.Logf("%2d tilt %4.1f/%4.1f k %.3f/%.3f d %3.0f blur %.1f err %+.2f%% sd %.2f%% rms %.3f used %d/%d corner %.2f h %.0f±%.0f/%.0f spread %.2f %s", i, sc.TiltDeg, s.tilt*180/math.Pi, p.fit.p[pK1], s.k1, d, s.blur, 100*s.scaleError(p), 100*sc.RelativeSD, sc.ResidualPx, sc.MarksUsed, sc.MarksDropped, worst, sc.CameraMM, sc.CameraSDMM, s.heightMM, p.fit.p[pSpread], sc.Note)
	}
}
