package stats

import "math"

// LogNormal is the size distribution of particles whose log is normal.
type LogNormal struct {
	NumberMedian float64 // median size by number, > 0
	GSD          float64 // geometric standard deviation, >= 1
}

// moment is the number median times exp(k ln^2 GSD).
func (l LogNormal) moment(k float64) float64 {
	s := math.Log(l.GSD)
	return l.NumberMedian * math.Exp(k*s*s)
}

// MassMedian is the median size by mass (Hatch & Choate 1929, J. Franklin Inst. 207:369).
func (l LogNormal) MassMedian() float64 { return l.moment(3) }

// D32 is the surface-weighted mean size.
func (l LogNormal) D32() float64 { return l.moment(2.5) }

// D43 is the mass-weighted mean size.
func (l LogNormal) D43() float64 { return l.moment(3.5) }

// MassMedianSampleSize is how many particles it takes until the fitted mass median of a log-normal lies within a
// relative half width (0.05 for 5 %) at a level, by the delta method: ln of the mass median is mu + 3 s^2
// with variance s^2 (1 + 18 s^2) / n. Rounded to the nearest whole particle.
func MassMedianSampleSize(gsd, relativeHalfWidth, level float64) int {
	s2 := math.Log(gsd) * math.Log(gsd)
	z := NormalQuantile(level) / relativeHalfWidth
	return int(math.Round(z * z * s2 * (1 + 18*s2)))
}
