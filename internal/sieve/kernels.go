package sieve

import (
	"errors"

	"gonum.org/v1/gonum/stat/distuv"

	"gristmark/internal/result"
)

// BoxKernels is where the kernels ride: counts by fraction, scaled from the mass in which they were counted.
type BoxKernels struct {
	WholePerKg *result.Estimate `json:"whole_per_kg"` // whole kernels a kg of sample
	LargePerKg *result.Estimate `json:"large_per_kg"` // kernel pieces of half a kernel and more, a kg of sample
	ByFraction []FractionKernel `json:"by_fraction"`
	Basis      string           `json:"basis"`
}

// FractionKernel is the kernels of one fraction.
type FractionKernel struct {
	Sieve         string   `json:"sieve"`
	CountedG      float64  `json:"counted_g"`
	Whole         *float64 `json:"whole"`
	Large         *float64 `json:"large"`
	WholePerKg    *float64 `json:"whole_per_kg"`    // a kg of this fraction
	LargePerKg    *float64 `json:"large_per_kg"`    // a kg of this fraction
	WholeSharePct *float64 `json:"whole_share_pct"` // of all whole kernels of the sample
	LargeSharePct *float64 `json:"large_share_pct"`
}

// CountKernels adds up the counts of one shake, as the report does.
func CountKernels(s Shake) (*BoxKernels, error) { return kernelsOf(s) }

// Implausible says why the masses of a shake are in the wrong unit; nil where they may be right.
func Implausible(s Shake) error { return plausible(s, "mass", 1) }

// kernelsOf adds up the counts of one shake; nil where none was counted. A kind of piece must have been counted in every
// fraction that weighs anything, else the sample's figure would leave kernels out.
func kernelsOf(s Shake) (*BoxKernels, error) {
	out := BoxKernels{Basis: "counts scaled by mass, interval from the counts alone (Fay & Feuer 1997)"}
	whole, err := total(s, func(f Fraction) *float64 { return f.WholeKernels })
	if err != nil {
		return nil, err
	}
	large, err := total(s, func(f Fraction) *float64 { return f.LargePieces })
	if err != nil {
		return nil, err
	}
	if whole == nil && large == nil {
		return nil, nil
	}
	kg := s.TotalG() / 1000
	out.WholePerKg, out.LargePerKg = whole.perKg(kg), large.perKg(kg)
	for _, f := range s.Fractions {
		out.ByFraction = append(out.ByFraction, fractionKernel(f, whole, large))
	}
	return &out, nil
}

func fractionKernel(f Fraction, whole, large *scaledCount) FractionKernel {
	k := FractionKernel{Sieve: f.Label, CountedG: f.counted(), Whole: f.WholeKernels, Large: f.LargePieces}
	if k.CountedG <= 0 {
		return k
	}
	fill := func(count *float64, all *scaledCount) (perKg, pct *float64) {
		if count == nil || all == nil {
			return nil, nil
		}
		v := *count / k.CountedG * 1000
		perKg = &v
		if all.sum > 0 {
			p := 100 * *count * f.MassG / k.CountedG / all.sum
			pct = &p
		}
		return perKg, pct
	}
	k.WholePerKg, k.WholeSharePct = fill(f.WholeKernels, whole)
	k.LargePerKg, k.LargeSharePct = fill(f.LargePieces, large)
	return k
}

// counted is the mass in which kernels were counted, g.
func (f Fraction) counted() float64 {
	if f.CountedG > 0 {
		return f.CountedG
	}
	return f.MassG
}

// scaledCount is a sum of Poisson counts, each times its scale.
type scaledCount struct {
	sum, variance, largest float64 // sum of scale·count, of scale²·count, largest scale
}

func total(s Shake, of func(Fraction) *float64) (*scaledCount, error) {
	var c scaledCount
	known, missing := 0, ""
	for _, f := range s.Fractions {
		count := of(f)
		switch {
		case f.MassG <= 0 && (count == nil || *count == 0):
			continue
		case count == nil:
			missing = f.Label
			continue
		case f.counted() <= 0:
			return nil, errors.New("sieve: kernels were counted on an empty sieve (" + f.Label + ")")
		}
		known++
		scale := f.MassG / f.counted()
		c.sum += scale * *count
		c.variance += scale * scale * *count
		c.largest = max(c.largest, scale)
	}
	switch {
	case known == 0:
		return nil, nil
	case missing != "":
		return nil, errors.New("sieve: kernels were counted in some fractions but not on " + missing + "; count them there too or leave the column out")
	}
	return &c, nil
}

// perKg is the estimate a kg with the gamma interval of a weighted sum of Poisson counts: Fay & Feuer 1997, Stat.
// Med. 16:791; with all scales 1 it is the exact Poisson interval.
func (c *scaledCount) perKg(kg float64) *result.Estimate {
	if c == nil {
		return nil
	}
	alpha := 1 - level
	e := result.Estimate{Value: c.sum / kg, Level: level}
	if c.sum > 0 {
		e.Low = c.variance / (2 * c.sum) * distuv.ChiSquared{K: 2 * c.sum * c.sum / c.variance}.Quantile(alpha/2) / kg
	}
	y, v := c.sum+c.largest, c.variance+c.largest*c.largest
	e.High = v / (2 * y) * distuv.ChiSquared{K: 2 * y * y / v}.Quantile(1-alpha/2) / kg
	return &e
}
