package pipeline

import (
	"math"
	"math/rand/v2"
	"testing"

	"gristmark/internal/result"
)

// spread is n pieces on a sheet of w × h mm with log-normal areas about 30 mm².
func spread(seed uint64, n int, w, h float64) []spot {
	rng := rand.New(rand.NewPCG(seed, 1))
	out := make([]spot, n)
	for i := range out {
		out[i] = spot{result.XY{w * rng.Float64(), h * rng.Float64()}, 30 * math.Exp(0.7*rng.NormFloat64())}
	}
	return out
}

// shot is the spread as another photo gives it: turned and shifted, the scale 0.8 % off, pieces displaced
// by 0.5 mm, areas by 5 %, and a share of the pieces missed.
func shot(seed uint64, s []spot, missed float64) []spot {
	rng := rand.New(rand.NewPCG(seed, 2))
	m := about(2.1, result.XY{100, 80}, result.XY{40, -60})
	var out []spot
	for _, p := range s {
		if rng.Float64() < missed {
			continue
		}
		q := m.apply(p.at)
		out = append(out, spot{
			result.XY{1.008*q[0] + 0.5*rng.NormFloat64(), 1.008*q[1] + 0.5*rng.NormFloat64()},
			p.area * (1 + 0.05*rng.NormFloat64()),
		})
	}
	return sortSpots(out)
}

func sortSpots(s []spot) []spot {
	f := &Frame{Photo: result.Photo{Status: result.Measured}}
	for _, p := range s {
		f.Photo.Particles = append(f.Photo.Particles, result.Particle{AreaMM2: p.area})
		x, y := p.at[0], p.at[1]
		f.OutlineMM = append(f.OutlineMM, []result.XY{{x - 1, y - 1}, {x + 1, y - 1}, {x + 1, y + 1}, {x - 1, y + 1}})
	}
	return spotsOf(f)
}

func TestSameSpreadIsFound(t *testing.T) {
	for _, n := range []int{8, 20, 60, 150, 500} {
		for seed := uint64(0); seed < 8; seed++ {
			s := spread(seed, n, 297, 210)
			if !sameSpread(sortSpots(s), shot(seed, s, 0.1)) {
				t.Errorf("seed %d: two shots of one spread of %d pieces were not recognised", seed, n)
			}
		}
	}
}

func TestSpreadsApartAreNotPooled(t *testing.T) {
	for _, n := range []int{6, 8, 20, 60, 150, 500} {
		for seed := uint64(0); seed < 8; seed++ {
			if sameSpread(sortSpots(spread(seed, n, 297, 210)), sortSpots(spread(1000+seed, n, 297, 210))) {
				t.Errorf("seed %d: two spreads of %d pieces were taken for one", seed, n)
			}
		}
	}
}

// Half of the tray in the second shot is still the same spread; pieces spread anew are not.
func TestPartOfASpread(t *testing.T) {
	s := spread(3, 120, 297, 210)
	var half []spot
	for _, p := range s {
		if p.at[0] < 160 {
			half = append(half, p)
		}
	}
	if !sameSpread(sortSpots(s), shot(3, half, 0.05)) {
		t.Error("a shot of half the tray was not recognised")
	}
	anew := spread(4, 120, 297, 210)
	for i := range anew {
		anew[i].area = s[i].area // the same pieces, stirred
	}
	if sameSpread(sortSpots(s), sortSpots(anew)) {
		t.Error("the same pieces spread anew were taken for the same spread")
	}
}

func TestMotion(t *testing.T) {
	m := about(0.7, result.XY{3, 4}, result.XY{-5, 9})
	p := m.inverse().apply(m.apply(result.XY{12, -7}))
	if math.Hypot(p[0]-12, p[1]+7) > 1e-12 {
		t.Errorf("there and back: %v", p)
	}
	a := spread(5, 30, 200, 200)
	b := make([]spot, len(a))
	pairs := make([][2]int, len(a))
	for i := range a {
		b[i] = spot{m.apply(a[i].at), a[i].area}
		pairs[i] = [2]int{i, i}
	}
	fit := fitMotion(a, b, pairs)
	if math.Abs(fit.cos-m.cos) > 1e-12 || math.Abs(fit.shift[0]-m.shift[0]) > 1e-9 {
		t.Errorf("fit %+v, want %+v", fit, m)
	}
}
