package fracture

import (
	"math"
	"math/rand/v2"
)

// Piece is what a photo would see of a broken body from above, and what only the body knows.
type Piece struct {
	LengthMM, WidthMM float64 // largest and smallest Feret diameter of the outline from above
	AreaMM2           float64 // of that outline
	ThicknessMM       float64 // height of the piece as it lies
	VolumeMM3         float64
	Passes475         bool    // some way of turning takes it through a square mesh of 4.75 mm
	Share             float64 // volume over that of the body it came from
}

// Lot says how the kernels of a lot are made and broken.
type Lot struct {
	LengthMM, WidthMM, ThicknessMM float64 // mean unbroken kernel
	LengthSD, WidthSD, ThicknessSD float64 // its spread, mm
	Cuts                           float64 // mean number of breaks a kernel
	Roundness, Taper               float64 // see Kernel
	Chips                          float64 // share of breaks that only knock off an edge
	Upright                        float64 // share of breaks whose face stands upright on the flat kernel
}

// Default is a lot of the default kernel: mean sizes from Sezer et al. (Afr. J. Biotechnol.), spread from memory.
func Default(cuts float64) Lot {
	return Lot{10.54, 7.26, 4.57, 1.0, 0.75, 0.7, cuts, 2.8, 0.12, 0.2, 0}
}

// Draw makes one kernel of the lot and breaks it.
func (l Lot) Draw(r *rand.Rand) []Piece {
	size := func(mean, sd float64) float64 { return mean + sd*min(max(r.NormFloat64(), -2.2), 2.2) }
	whole := Kernel(size(l.LengthMM, l.LengthSD), size(l.WidthMM, l.WidthSD), size(l.ThicknessMM, l.ThicknessSD), l.Roundness, l.Taper)
	full, _ := whole.Volume()
	bodies := []Body{whole}
	for range poisson(r, l.Cuts) {
		bodies = l.breakOne(r, bodies)
	}
	var out []Piece
	for _, b := range bodies {
		if v, _ := b.Volume(); v > 0.15 {
			out = append(out, b.Lie(v/full))
		}
	}
	return out
}

// breakOne cuts one of the bodies, the larger the likelier, by a plane of random direction.
func (l Lot) breakOne(r *rand.Rand, bodies []Body) []Body {
	total, volumes := 0.0, make([]float64, len(bodies))
	for i, b := range bodies {
		volumes[i], _ = b.Volume()
		total += volumes[i]
	}
	pick, at := r.Float64()*total, 0
	for at < len(bodies)-1 && pick > volumes[at] {
		pick -= volumes[at]
		at++
	}
	n := Vec{r.NormFloat64(), r.NormFloat64(), r.NormFloat64()}
	if r.Float64() < l.Upright {
		n[2] = 0
	}
	n = n.unit()
	low, high := bodies[at].extent(n)
	share := 0.3 + 0.4*r.Float64()
	if r.Float64() < l.Chips {
		share = 0.75 + 0.18*r.Float64()
	}
	offset := low + share*(high-low)
	a, b := bodies[at].Below(n, offset), bodies[at].Below(n.scale(-1), -offset)
	if len(a.Faces) < 4 || len(b.Faces) < 4 {
		return bodies
	}
	bodies[at] = a
	return append(bodies, b)
}

func poisson(r *rand.Rand, mean float64) int {
	n, p, limit := 0, r.Float64(), math.Exp(-mean)
	for p > limit {
		p *= r.Float64()
		n++
	}
	return n
}
