package sieve

import (
	"errors"
	"math"
)

// Geometric is the mean length and spread of a sieved sample by mass.
type Geometric struct {
	MeanMM      float64 `json:"geometric_mean_mm"`
	SD          float64 `json:"geometric_sd"` // a factor, >= 1
	Method      string  `json:"method"`
	TopLengthMM float64 `json:"top_length_mm"` // taken as the mean length on the top sieve
	TopAssumed  bool    `json:"top_length_assumed"`
	PanLengthMM float64 `json:"pan_length_mm"`
}

// GeometricMean is Xgm and Sgm of masses at mean lengths x, mm:
//
//	Xgm = 10^(sum Mi log10 Xi / sum Mi), Sgm = 10^sqrt(sum Mi (log10 Xi - log10 Xgm)^2 / sum Mi)
//
// ANSI/ASAE S424.1, as printed by Lisowski et al. 2008, Annals of Warsaw University of Life Sciences,
// Agriculture 52:23-30. It panics on slices of unequal length.
func GeometricMean(x, mass []float64) (mean, sd float64, err error) {
	if len(x) != len(mass) {
		panic("sieve: lengths and masses differ in number")
	}
	var m, ml, mll float64
	for i := range x {
		if mass[i] < 0 || x[i] <= 0 {
			return 0, 0, errors.New("sieve: masses must be 0 or more and lengths more than 0")
		}
		l := math.Log10(x[i])
		m, ml = m+mass[i], ml+mass[i]*l
	}
	if m == 0 {
		return 0, 0, errors.New("sieve: all masses are 0")
	}
	centre := ml / m
	for i := range x {
		d := math.Log10(x[i]) - centre
		mll += mass[i] * d * d
	}
	return math.Pow(10, centre), math.Pow(10, math.Sqrt(mll/m)), nil
}

// S424Lengths gives the mean lengths of fractions whose sieves have these diagonals, mm, coarse to fine:
// the stated one on top, between two sieves the geometric mean of their diagonals, in the pan half the smallest.
func S424Lengths(diagonals []float64, top float64) []float64 {
	x := []float64{top}
	for i := 1; i < len(diagonals); i++ {
		x = append(x, math.Sqrt(diagonals[i]*diagonals[i-1]))
	}
	return append(x, diagonals[len(diagonals)-1]/2)
}

// geometric applies the formula to a shake. The sizes of the sieves are the tabulated diagonals for a stack of
// S424.1, given diagonals where all were given, else the openings themselves (the holes of a box are round).
func geometric(s Shake, topMM *float64) (*Geometric, error) {
	sizes, method := sizesOf(s)
	g := Geometric{Method: method, TopAssumed: topMM == nil}
	g.TopLengthMM = sizes[0] * math.Sqrt2 // as if the next coarser sieve were twice as wide
	if topMM != nil {
		g.TopLengthMM = *topMM
	}
	if g.TopLengthMM < sizes[0] {
		return nil, errors.New("sieve: the mean length on the top sieve is less than the size of its holes; give a longer one")
	}
	x := S424Lengths(sizes, g.TopLengthMM)
	mass := make([]float64, len(s.Fractions))
	for i, f := range s.Fractions {
		mass[i] = f.MassG
	}
	g.PanLengthMM = x[len(x)-1]
	var err error
	g.MeanMM, g.SD, err = GeometricMean(x, mass)
	return &g, err
}

func sizesOf(s Shake) (sizes []float64, method string) {
	openings := s.Openings()
	if KindOf(openings) == S424 {
		for _, o := range openings {
			d, _ := s424Diagonal(o)
			sizes = append(sizes, d)
		}
		return sizes, "formula and tabulated diagonals of ANSI/ASAE S424.1"
	}
	for i := range openings {
		d := s.Fractions[i].DiagonalMM
		if d == 0 {
			return openings, "formula of ANSI/ASAE S424.1 on the openings of this stack, not the standard's screens"
		}
		sizes = append(sizes, d)
	}
	return sizes, "formula of ANSI/ASAE S424.1 on the given diagonals, not the standard's screens"
}

// QuickMeanMM estimates the S424.1 mean length from the mass fraction f, 0..1, on or above the 9 mm
// diagonal: 1.16 + 13.00 f. Armentano & Taysom 2005, J. Dairy Sci. 88:3982.
func QuickMeanMM(f float64) float64 { return 1.16 + 13.00*f }
