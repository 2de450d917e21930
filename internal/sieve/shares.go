package sieve

import (
	"math"

	"gristmark/internal/result"
	"gristmark/internal/stats"
)

// level is the coverage of all intervals here.
const level = 0.95

// Share is a percentage of mass; its interval is nil for a single shake, which cannot show its own spread.
type Share struct {
	Value float64  `json:"value"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
	Level *float64 `json:"level"`
}

// Estimate is the share as an estimate; without an interval its ends are the value.
func (s Share) Estimate() result.Estimate {
	if s.Low == nil {
		return result.Estimate{Value: s.Value, Low: s.Value, High: s.Value}
	}
	return result.Estimate{Value: s.Value, Low: *s.Low, High: *s.High, Level: *s.Level}
}

// leastHalfPct is the least half width of an interval over shakes, percent points: what scale, sieve and hand leave in doubt
// even where two shakes agree (common practice, from memory).
const leastHalfPct = 0.5

// share is 100 sum(part) / sum(whole) over shakes, with Student's interval of the ratio from two shakes up.
func share(part, whole []float64) Share {
	s := Share{Value: 100 * stats.Ratio(part, whole)}
	se, df := stats.RatioError(part, whole)
	if len(part) < 2 || math.IsInf(se, 0) || math.IsNaN(se) {
		return s
	}
	half := max(leastHalfPct, 100*se*stats.StudentQuantile(level, df))
	low, high, lev := max(0, s.Value-half), min(100, s.Value+half), level
	s.Low, s.High, s.Level = &low, &high, &lev
	return s
}

// pooled adds up the fractions of shakes through one stack: masses, kernel counts and the mass they were counted in. A
// count that one shake lacks is not known of the sum.
func pooled(shakes []Shake) Shake {
	sum := Shake{Fractions: make([]Fraction, len(shakes[0].Fractions))}
	for i, f := range shakes[0].Fractions {
		sum.Fractions[i] = Fraction{Label: f.Label, OpeningMM: f.OpeningMM, DiagonalMM: f.DiagonalMM, WholeKernels: new(float64), LargePieces: new(float64)}
	}
	for _, s := range shakes {
		for i, f := range s.Fractions {
			to := &sum.Fractions[i]
			to.MassG += f.MassG
			to.CountedG += f.counted()
			to.WholeKernels, to.LargePieces = plus(to.WholeKernels, f.WholeKernels), plus(to.LargePieces, f.LargePieces)
		}
	}
	return sum
}

// plus adds two counts; unknown where either is.
func plus(a, b *float64) *float64 {
	if a == nil || b == nil {
		return nil
	}
	v := *a + *b
	return &v
}

// retained are the masses on the sieve with this opening and all above it, one a shake; an opening of 0 takes all.
func retained(shakes []Shake, opening float64) []float64 {
	out := make([]float64, len(shakes))
	for i, s := range shakes {
		for _, f := range s.Fractions {
			if f.OpeningMM >= opening*0.988 { // 3.96 for 4, 1.17 for 1.18
				out[i] += f.MassG
			}
		}
	}
	return out
}

func totals(shakes []Shake) []float64 { return retained(shakes, 0) }

// hasSieve reports whether the stack has a sieve of that opening.
func hasSieve(openings []float64, opening float64) bool {
	for _, o := range openings {
		if near(o, opening) {
			return true
		}
	}
	return false
}
