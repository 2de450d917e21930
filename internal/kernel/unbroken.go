package kernel

import (
	"math"
	"slices"
)

// Where the size of an unbroken kernel was taken from.
const (
	FromSample  = "sample"
	FromGiven   = "given"
	FromDefault = "default"
)

// areaOverBox is the projected area of a kernel over length times width, for the default kernel 59.7 mm2: inside the
// published 53 to 73 mm2 (Darfour 2022, Int. J. Food Prop.).
const areaOverBox = 0.78

// Unbroken is the mean unbroken kernel of a lot.
type Unbroken struct {
	LengthMM, WidthMM, ThicknessMM float64 // > 0
	AreaMM2                        float64 // projected, lying flat
	From                           string  // FromSample, FromGiven, FromDefault, or a stored kernel by its name
	Measured                       bool    // on unbroken kernels of this crop: those of a sample do not move it
}

// Default is a dent kernel of 10.54 x 7.26 x 4.57 mm (Sezer et al., Afr. J. Biotechnol.).
func Default() Unbroken {
	u := Given(10.54, 7.26, 4.57)
	u.From = FromDefault
	return u
}

// Given is a kernel of measured sizes in mm. Sizes that are not positive are replaced by the default's.
func Given(lengthMM, widthMM, thicknessMM float64) Unbroken {
	pick := func(v, otherwise float64) float64 {
		if v > 0 && !math.IsInf(v, 1) {
			return v
		}
		return otherwise
	}
	l, w := pick(lengthMM, 10.54), pick(widthMM, 7.26)
	return Unbroken{LengthMM: l, WidthMM: w, ThicknessMM: pick(thicknessMM, 4.57), AreaMM2: areaOverBox * l * w, From: FromGiven}
}

// Share is the projected area over that of the mean unbroken kernel, clipped to 0..1.
func (u Unbroken) Share(areaMM2 float64) float64 {
	if !(areaMM2 > 0) || !(u.AreaMM2 > 0) {
		return 0
	}
	return min(areaMM2/u.AreaMM2, 1)
}

// Holds reports whether an outline can be of one kernel of the lot at all, with room for two that were not told apart: a stalk that
// is taken for a kernel with a chance of 1 in 100 must not weigh in with a hundredth of a stalk.
func (u Unbroken) Holds(lengthMM, areaMM2 float64) bool {
	return lengthMM <= 2*u.LengthMM && areaMM2 <= 2.2*u.AreaMM2
}

// What FromWhole weighs the sample against; spreads are relative standard deviations of area.
const (
	enoughWhole  = 8    // unbroken kernels that it takes to speak of the lot
	withinLot    = 0.14 // between kernels of one lot ("a good tenth", from memory)
	betweenLots  = 0.12 // of lots about the default
	givenDoubt   = 0.05 // of the lot about a given kernel
	trimMultiple = 3.5  // kernels further from the median, in robust standard deviations, are not averaged
)

// FromWhole is the lot's mean unbroken kernel from the projected areas (mm2) of its unbroken kernels: a trimmed mean
// shrunk towards the prior kernel by their variances. With fewer than 8 areas, or where the prior was measured, it is the prior itself.
// Length and width grow with the root of the area; thickness stays the prior's.
func FromWhole(areasMM2 []float64, prior Unbroken) Unbroken {
	if len(areasMM2) < enoughWhole || prior.Measured {
		return prior
	}
	mean, n := trimmedMean(areasMM2)
	doubt := betweenLots
	if prior.From == FromGiven {
		doubt = givenDoubt
	}
	seen, before := n/(withinLot*withinLot), 1/(doubt*doubt)
	area := math.Exp((seen*math.Log(mean) + before*math.Log(prior.AreaMM2)) / (seen + before))
	grow := math.Sqrt(area / prior.AreaMM2)
	return Unbroken{LengthMM: prior.LengthMM * grow, WidthMM: prior.WidthMM * grow, ThicknessMM: prior.ThicknessMM, AreaMM2: area, From: FromSample}
}

// trimmedMean leaves out what lies far from the median by the median absolute deviation.
func trimmedMean(x []float64) (mean, n float64) {
	median := func(v []float64) float64 {
		v = slices.Sorted(slices.Values(v))
		return (v[(len(v)-1)/2] + v[len(v)/2]) / 2
	}
	mid, away := median(x), make([]float64, len(x))
	for i, v := range x {
		away[i] = math.Abs(v - mid)
	}
	limit := max(trimMultiple*1.4826*median(away), 0.05*mid)
	for i, v := range x {
		if away[i] <= limit {
			mean += v
			n++
		}
	}
	return mean / n, n
}
