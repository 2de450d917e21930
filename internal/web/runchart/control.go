// Package runchart watches a figure from load to load: control limits from the first stable stretch under the settings in force,
// signals of a drift, and the chart of both as SVG that stands in a page and prints.
package runchart

import (
	"math"

	"gristmark/internal/stats"
)

// Stretch is how many loads in a row limits are made of, and Run how many on one side of the centre are a drift.
const (
	Stretch = 8
	Run     = 8
)

// Limits are those of a chart of individuals, made of the values From..To-1.
type Limits struct {
	stats.ControlLimits
	From, To int
}

// Find gives the limits of the first stable stretch: the first [Stretch] values in a row of which none lies beyond the
// three-sigma limits made of them, and no step between neighbours beyond the limit of the moving range
// (Shewhart; ISO 7870-2:2013, from memory). ok is false while there is none.
func Find(values []float64) (l Limits, ok bool) {
	for from := 0; from+Stretch <= len(values); from++ {
		part := values[from : from+Stretch]
		limits := stats.IndividualsLimits(part)
		if stable(part, limits) {
			return Limits{limits, from, from + Stretch}, true
		}
	}
	return Limits{}, false
}

func stable(part []float64, l stats.ControlLimits) bool {
	for i, v := range part {
		if v < l.Low || v > l.High {
			return false
		}
		if i > 0 && math.Abs(v-part[i-1]) > l.RangeHigh {
			return false
		}
	}
	return l.MeanRange > 0
}

// Kind is the rule that a value breaks.
type Kind int

// The rules.
const (
	Fine   Kind = iota
	Beyond      // the value lies beyond a control limit
	Drift       // it and the Run-1 before it lie on one side of the centre (Western Electric 1956, from memory)
	Near        // it and one of the two before it lie more than two thirds of the way to the same limit (the same)
)

// Signals tells of each value which rule it breaks; a value beyond a limit is Beyond even within a drift, one of a drift is not
// Near. Of a drift every value from the one on that completes it is marked.
func Signals(values []float64, l Limits) []Kind {
	out := make([]Kind, len(values))
	side, run := 0, 0
	for i, v := range values {
		s := sign(v - l.Centre)
		if s != 0 && s == side {
			run++
		} else {
			side, run = s, 1
		}
		switch {
		case v < l.Low || v > l.High:
			out[i] = Beyond
		case side != 0 && run >= Run:
			out[i] = Drift
		case nearLimit(values, i, l):
			out[i] = Near
		}
	}
	return out
}

// nearLimit tells whether value i and one of the two before it lie beyond two standard deviations on the same side.
func nearLimit(values []float64, i int, l Limits) bool {
	side := func(k int) int {
		if k < 0 || math.Abs(values[k]-l.Centre) <= (l.High-l.Centre)*2/3 {
			return 0
		}
		return sign(values[k] - l.Centre)
	}
	s := side(i)
	return s != 0 && (side(i-1) == s || side(i-2) == s)
}

// Phase is a run of loads under the same settings of the machine, the values From..To-1 of the whole.
type Phase struct {
	From, To int
	Limits   Limits // From and To of the stretch, counted in the whole; where OK
	OK       bool   // there is a stable stretch
	Kinds    []Kind // of each value of the phase; all Fine where there are no limits
}

// Phases cuts the values where the settings change (anew[i]: the machine was set anew before value i), for what was meant to move
// the figure is no drift, and watches each phase by limits of its own.
func Phases(values []float64, anew []bool) []Phase {
	var out []Phase
	for from := 0; from < len(values); {
		to := from + 1
		for to < len(values) && !anew[to] {
			to++
		}
		p := Phase{From: from, To: to, Kinds: make([]Kind, to-from)}
		if p.Limits, p.OK = Find(values[from:to]); p.OK {
			p.Kinds = Signals(values[from:to], p.Limits)
			p.Limits.From += from
			p.Limits.To += from
		}
		out = append(out, p)
		from = to
	}
	return out
}

func sign(v float64) int {
	switch {
	case v > 0:
		return 1
	case v < 0:
		return -1
	}
	return 0
}
