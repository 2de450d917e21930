package scene

import (
	"math"
	"math/rand/v2"
	"runtime"
	"sync"
	"sync/atomic"
)

// Range is a closed interval that a value is drawn from, uniformly.
type Range [2]float64

func (r Range) draw(g *rand.Rand) float64 {
	if r[0] == r[1] {
		return r[0]
	}
	return r[0] + (r[1]-r[0])*g.Float64()
}

func (r Range) count(g *rand.Rand) int { return int(math.Round(r.draw(g))) }

// Streams keep the parts of a scene apart, so that a change in one leaves the others as they were.
const (
	streamCamera = iota + 1
	streamTray
	streamLight
	streamLot
	streamPlace
	streamExtras
	streamPhoto
	streamWild
	streamOdd
	streamPieces = 1000
)

func stream(seed, which uint64) *rand.Rand {
	return rand.New(rand.NewPCG(seed*0x9E3779B97F4A7C15+which, which*0xD1B54A32D192ED03+seed))
}

func normal(g *rand.Rand, mean, sd, limit float64) float64 {
	v := g.NormFloat64()
	return mean + sd*math.Max(-limit, math.Min(limit, v))
}

func logNormal(g *rand.Rand, median, gsd float64) float64 {
	return median * math.Exp(math.Log(gsd)*g.NormFloat64())
}

func chance(g *rand.Rand, p float64) bool { return g.Float64() < p }

func oneOf(g *rand.Rand, of []string) string { return of[g.IntN(len(of))] }

// hash32 mixes a lattice position and a seed.
func hash32(x, y int32, seed uint32) uint32 {
	h := uint32(x)*0x85EBCA6B ^ uint32(y)*0xC2B2AE35 ^ seed*0x27D4EB2F
	h ^= h >> 15
	h *= 0x2C1B3C6D
	h ^= h >> 12
	h *= 0x297A2D39
	return h ^ h>>15
}

func hashUnit(x, y int32, seed uint32) float64 {
	return float64(hash32(x, y, seed)) * (1.0 / 4294967296.0)
}

// noise is value noise of unit wavelength, -1..1.
func noise(x, y float64, seed uint32) float64 {
	fx, fy := math.Floor(x), math.Floor(y)
	ix, iy := int32(fx), int32(fy)
	u, v := x-fx, y-fy
	u, v = u*u*(3-2*u), v*v*(3-2*v)
	a, b := hashUnit(ix, iy, seed), hashUnit(ix+1, iy, seed)
	c, d := hashUnit(ix, iy+1, seed), hashUnit(ix+1, iy+1, seed)
	return 2*((a+(b-a)*u)+((c+(d-c)*u)-(a+(b-a)*u))*v) - 1
}

// fbm sums octaves of noise, about -1..1.
func fbm(x, y float64, seed uint32, octaves int) float64 {
	sum, amp, norm := 0.0, 1.0, 0.0
	for i := 0; i < octaves; i++ {
		sum += amp * noise(x, y, seed+uint32(i)*101)
		norm += amp
		amp *= 0.55
		x, y = x*2.03+17.1, y*2.03-9.7
	}
	return sum / norm
}

// parallel calls f for 0..n-1 on all processors; f(i) must depend on i alone.
func parallel(n int, f func(i int)) {
	workers := min(runtime.GOMAXPROCS(0), n)
	if workers <= 1 {
		for i := 0; i < n; i++ {
			f(i)
		}
		return
	}
	var next atomic.Int64
	var wait sync.WaitGroup
	for w := 0; w < workers; w++ {
		wait.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				f(i)
			}
		})
	}
	wait.Wait()
}

func clamp(v, lo, hi float64) float64 {
	if v < lo {
		return lo
	}
	if v > hi {
		return hi
	}
	return v
}

func mix(a, b, t float64) float64 { return a + (b-a)*t }

func smooth(lo, hi, v float64) float64 {
	t := clamp((v-lo)/(hi-lo), 0, 1)
	return t * t * (3 - 2*t)
}
