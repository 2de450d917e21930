package sieve

import (
	"math"
	"slices"
	"strconv"
)

// Kind names a stack of sieves.
type Kind string

// The kinds of stack.
const (
	Box        Kind = "box"        // 19, 8 and 4 mm over a pan
	OlderBox   Kind = "older-box"  // 19, 8 and 1.18 mm over a pan
	ThreePart  Kind = "three-part" // 19 and 8 mm over a pan
	FivePart   Kind = "five-part"  // 19, 8, 4 and 1.18 mm over a pan
	S424       Kind = "s424.1"     // the screens of ANSI/ASAE S424.1
	Laboratory Kind = "laboratory" // any other
)

// Diagonal is a screen of S424.1: nominal opening and tabulated diagonal, mm.
type Diagonal struct{ OpeningMM, DiagonalMM float64 }

// S424Diagonals are the screens of ANSI/ASAE S424.1 (R2012), coarse to fine, with the diagonals as tabulated
// there (from memory, checked by our own calculation). They are not computed: 8.98 is not 6.3 times the
// square root of 2.
var S424Diagonals = []Diagonal{{19.0, 26.9}, {12.7, 18.0}, {6.3, 8.98}, {3.96, 5.61}, {1.17, 1.65}}

// near compares openings: nominal sizes are written with different digits (1.17 and 1.18, 3.96 and 4).
func near(a, b float64) bool { return math.Abs(a-b) <= 0.012*b }

// KindOf names the stack of these openings, mm, coarse to fine, without the pan.
func KindOf(openings []float64) Kind {
	for _, k := range []struct {
		kind Kind
		of   []float64
	}{{Box, []float64{19, 8, 4}}, {OlderBox, []float64{19, 8, 1.18}}, {ThreePart, []float64{19, 8}}, {FivePart, []float64{19, 8, 4, 1.18}}} {
		if slices.EqualFunc(openings, k.of, near) {
			return k.kind
		}
	}
	if isS424(openings) {
		return S424
	}
	return Laboratory
}

func isS424(openings []float64) bool {
	if len(openings) < 4 {
		return false
	}
	for _, o := range openings {
		if _, ok := s424Diagonal(o); !ok {
			return false
		}
	}
	return true
}

func s424Diagonal(opening float64) (float64, bool) {
	for _, d := range S424Diagonals {
		if near(opening, d.OpeningMM) {
			return d.DiagonalMM, true
		}
	}
	return 0, false
}

// Fraction is what lay on one sieve, or in the pan.
type Fraction struct {
	Label      string   // as it was written
	OpeningMM  float64  // of the sieve it lay on, mm; 0: the pan
	DiagonalMM float64  // of a square opening where given, mm; 0: not given
	MassG      float64  // net mass as weighed, g, >= 0
	DryG       *float64 // net dry mass, g, 0..MassG; nil: not known

	WholeKernels *float64 // whole kernels counted in CountedG
	LargePieces  *float64 // kernel pieces of half a kernel and more, counted in CountedG
	Photo        string   // photo of the content, as written; more than one joined by +
	CountedG     float64  // mass in which kernels were counted, g; 0: all of MassG
}

// IsPan reports whether the fraction lay in the pan.
func (f Fraction) IsPan() bool { return f.OpeningMM == 0 }

// Shake is the fractions of one shaken sample, coarse to fine, the pan last.
type Shake struct {
	Name      string // of the shake where the table has several, else empty
	Fractions []Fraction
	PutInG    *float64 // mass put in, g; nil: not known
}

// Sort puts the fractions coarse to fine, the pan last.
func (s Shake) Sort() Shake {
	s.Fractions = slices.Clone(s.Fractions)
	slices.SortStableFunc(s.Fractions, func(a, b Fraction) int {
		switch {
		case a.OpeningMM > b.OpeningMM:
			return -1
		case a.OpeningMM < b.OpeningMM:
			return 1
		}
		return 0
	})
	return s
}

// Openings are those of the sieves, mm, without the pan.
func (s Shake) Openings() []float64 {
	var out []float64
	for _, f := range s.Fractions {
		if !f.IsPan() {
			out = append(out, f.OpeningMM)
		}
	}
	return out
}

// TotalG is the mass recovered, g.
func (s Shake) TotalG() float64 {
	total := 0.0
	for _, f := range s.Fractions {
		total += f.MassG
	}
	return total
}

// dryG is the dry mass recovered, and whether it is known of every fraction.
func (s Shake) dryG() (float64, bool) {
	total := 0.0
	for _, f := range s.Fractions {
		if f.DryG == nil {
			return 0, false
		}
		total += *f.DryG
	}
	return total, true
}

// OpeningName prints an opening: "19 mm", or "pan" for 0.
func OpeningName(mm float64) string {
	if mm == 0 {
		return "pan"
	}
	return strconv.FormatFloat(mm, 'f', -1, 64) + " mm"
}
