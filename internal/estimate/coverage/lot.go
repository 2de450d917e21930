package coverage

import (
	"math"
	"math/rand/v2"

	"gristmark/internal/kernel/fracture"
	"gristmark/internal/stats"
)

// grain is a kernel piece of a lot.
type grain struct {
	fracture.Piece
	whole bool
}

// straw is a stover piece of a lot.
type straw struct {
	length, width, mass float64
	box                 int // where the box puts it: 0 top .. 3 pan
}

// lot is the population that samples are drawn from.
type lot struct {
	grains []grain
	straws []straw
}

// drawLot makes a lot of the given number of kernels, broken, and of 1500 straws. How kernels break differs from lot to lot.
func drawLot(r *rand.Rand, kernels int) lot {
	k := fracture.Default(1.2 + 2.5*r.Float64())
	grow := math.Exp(0.06 * cut(r))
	k.LengthMM, k.WidthMM = k.LengthMM*grow, k.WidthMM*grow
	k.ThicknessMM *= math.Exp(0.04 * cut(r))
	k.Upright = min(max(0.65+0.25*r.NormFloat64(), 0), 1)
	var l lot
	for range kernels {
		for _, p := range k.Draw(r) {
			if p.WidthMM > 1 {
				l.grains = append(l.grains, grain{p, p.Share >= 0.95})
			}
		}
	}
	l.drawStraws(r)
	return l
}

func cut(r *rand.Rand) float64 { return min(max(r.NormFloat64(), -2.2), 2.2) }

func (l *lot) drawStraws(r *rand.Rand) {
	median, gsd := 5+5*r.Float64(), 1.5+0.5*r.Float64()
	bridge, steepness := 1.4*math.Exp(0.12*r.NormFloat64()), 4.5*math.Exp(0.25*r.NormFloat64())
	for range 1500 {
		length := max(median*math.Pow(gsd, r.NormFloat64()), 1)
		width := min(length, 0.7+2.5*math.Abs(r.NormFloat64()))
		s := straw{length: length, width: width, mass: length * width * (0.15 + 0.2*width*r.Float64()), box: 3}
		for i, hole := range []float64{19, 8, 4} {
			if width > hole || r.Float64() > 1/(1+math.Pow(length/(bridge*hole), steepness)) {
				s.box = i
				break
			}
		}
		l.straws = append(l.straws, s)
	}
}

// truth of every figure, in its unit.
func (l lot) truth() (out [figures]float64) {
	var pass, mass, whole float64
	for _, g := range l.grains {
		mass += g.VolumeMM3
		if g.Passes475 {
			pass += g.VolumeMM3
		}
		if g.whole {
			whole++
		}
	}
	out[Passing], out[Whole] = 100*pass/mass, 100*whole/float64(len(l.grains))
	var logs, area, weight float64
	var in [4]float64
	for _, s := range l.straws {
		area += s.length * s.width
		logs += s.length * s.width * math.Log(s.length)
		weight += s.mass
		in[s.box] += s.mass
	}
	out[Length] = math.Exp(logs / area)
	for i, m := range in {
		out[Top+i] = 100 * m / weight
	}
	return out
}

// draw picks n of the items, those of greater size the likelier by size^tilt: no two handfuls are alike.
func draw[T any](r *rand.Rand, items []T, n int, tilt float64, size func(T) float64) []T {
	most := 0.0
	for _, it := range items {
		most = max(most, math.Pow(size(it), tilt))
	}
	var out []T
	for len(out) < n {
		if it := items[r.IntN(len(items))]; r.Float64()*most <= math.Pow(size(it), tilt) {
			out = append(out, it)
		}
	}
	return out
}

func source(seed uint64) *rand.Rand { return stats.Rand(seed) }
