// Package cup judges kernel processing by the cup: whole and half kernels in a level cup of 0.946 l of chop.
//
// At most 2 a cup is good, 2 to 4 fair, more is poor (trade press). Counts are Poisson: the interval is the exact one.
package cup

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"gristmark/internal/result"
	"gristmark/internal/stats"
)

// Schema names the version of the cup document.
const Schema = "gristmark.cup/1"

// What the trade counts with.
const (
	Litres    = 0.946 // of a cup, a US quart
	GoodMost  = 2.0   // kernels a cup
	FairMost  = 4.0
	HalfShare = 0.5 // kernel share from which a piece counts
	level     = 0.95
)

// Judgements of a cup count.
const (
	Good      = "good"
	Fair      = "fair"
	Poor      = "poor"
	Undecided = "undecided" // the interval spans a mark
)

// Document is the cup document.
type Document struct {
	Schema   string          `json:"schema"`
	Version  string          `json:"version,omitempty"`
	Count    int             `json:"count"`     // whole and half kernels
	Cups     int             `json:"cups"`      // counted
	Litres   float64         `json:"litres"`    // of each cup
	PerCup   result.Estimate `json:"per_cup"`   // per 0.946 l, exact Poisson
	PerLitre result.Estimate `json:"per_litre"` // exact Poisson
	Verdict  string          `json:"verdict"`   // good, fair, poor, undecided
	Risk     float64         `json:"risk"`      // of calling 2 a cup more, or 4 a cup less
	CupsToDo int             `json:"cups_to_tell_2_from_4"`
}

// CountPhotos counts the whole and half kernels of the measured photos, one level cup a spread.
func CountPhotos(photos []result.Photo) (count, cups int) {
	for _, p := range photos {
		if p.Status != result.Measured || p.DuplicateOf != "" || p.SameSpreadAs != "" {
			continue
		}
		cups++
		for _, q := range p.Particles {
			half := q.Class == result.BrokenKernel && q.KernelShare != nil && *q.KernelShare >= HalfShare
			if q.Class == result.WholeKernel || half {
				count++
			}
		}
	}
	return count, cups
}

// Judge makes the document of a count in so many cups of so many litres each.
func Judge(count, cups int, litres, risk float64) (*Document, error) {
	switch {
	case count < 0:
		return nil, errors.New("cup: the count is negative")
	case cups < 1:
		return nil, errors.New("cup: no cup was counted")
	case !(litres > 0.05 && litres <= 20):
		return nil, fmt.Errorf("cup: a cup of %g l; give its content in litres", litres)
	}
	todo, err := CupsToTell(GoodMost, FairMost, risk)
	if err != nil {
		return nil, err
	}
	total := float64(cups) * litres
	d := &Document{Schema: Schema, Count: count, Cups: cups, Litres: litres, Risk: risk, CupsToDo: todo}
	d.PerLitre = rate(count, total)
	d.PerCup = rate(count, total/Litres)
	d.Verdict = verdict(d.PerCup)
	return d, nil
}

func rate(count int, units float64) result.Estimate {
	i := stats.PoissonExact(count, level).Scale(1 / units)
	return result.Estimate{Value: float64(count) / units, Low: i.Low, High: i.High, Level: level}
}

func verdict(e result.Estimate) string {
	switch {
	case e.High <= GoodMost:
		return Good
	case e.Low > FairMost:
		return Poor
	case e.Low > GoodMost && e.High <= FairMost:
		return Fair
	}
	return Undecided
}

// mostCups bounds the search for a number of cups.
const mostCups = 1000

// CupsToTell is the least number of cups with which a count tells a true rate of low a cup from one of high: there is a
// limit that the first exceeds, and the second stays at or under, with a probability of at most risk.
func CupsToTell(low, high, risk float64) (int, error) {
	if !(low > 0 && high > low && risk > 0 && risk < 0.5) {
		return 0, fmt.Errorf("cup: a risk of %g; it must lie between 0 and 0.5", risk)
	}
	for n := 1; n <= mostCups; n++ {
		few, many := distuv.Poisson{Lambda: low * float64(n)}, distuv.Poisson{Lambda: high * float64(n)}
		for c := math.Floor(few.Lambda); c <= many.Lambda; c++ {
			if 1-few.CDF(c) <= risk && many.CDF(c) <= risk {
				return n, nil
			}
		}
	}
	return 0, fmt.Errorf("cup: not even %d cups reach a risk of %g", mostCups, risk)
}
