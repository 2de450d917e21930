// Package season puts the samples of a batch in order and draws the run of their figures.
package season

import (
	"cmp"
	"slices"
	"strconv"

	"gristmark/internal/report/plots"
	"gristmark/internal/result"
	"gristmark/internal/words"
)

// Entry is one sample of a season: what its row in a table needs.
type Entry struct {
	Name    string
	Taken   string // when its first measured photo was taken, RFC 3339; empty where none tells
	Photos  int
	Refused int
	Sample  *result.Sample // nil where nothing was measured
	Page    string         // path of its page

	Settings result.Settings // what was told of the load
}

// EntryOf makes the entry of a sample from its document.
func EntryOf(name string, doc result.Document) Entry {
	e := Entry{Name: name, Photos: len(doc.Photos), Sample: doc.Sample}
	for _, p := range doc.Photos {
		if p.Status == result.Refused {
			e.Refused++
		} else if p.TakenAt != nil && (e.Taken == "" || *p.TakenAt < e.Taken) {
			e.Taken = *p.TakenAt
		}
	}
	if doc.Settings != nil {
		e.Settings = *doc.Settings
		if e.Taken == "" {
			e.Taken = e.Settings.TakenAt
		}
	}
	return e
}

// Sort puts the entries in the order that they were taken; where the time of one with a measurement is not known, all go
// by name, load 2 before load 10.
func Sort(entries []Entry) {
	timed := !slices.ContainsFunc(entries, func(e Entry) bool { return e.Taken == "" && e.Sample != nil })
	slices.SortStableFunc(entries, func(a, b Entry) int {
		if timed && a.Taken != b.Taken && a.Taken != "" && b.Taken != "" {
			return cmp.Compare(a.Taken, b.Taken)
		}
		return natural(a.Name, b.Name)
	})
	if timed { // what has no time has no measurement: it goes last
		slices.SortStableFunc(entries, func(a, b Entry) int { return cmp.Compare(btoi(a.Taken == ""), btoi(b.Taken == "")) })
	}
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// natural compares names with the numbers in them as numbers.
func natural(a, b string) int {
	for x, y := a, b; x != "" && y != ""; {
		n, m := digits(x), digits(y)
		if n > 0 && m > 0 {
			v, errV := strconv.ParseUint(x[:n], 10, 64)
			w, errW := strconv.ParseUint(y[:m], 10, 64)
			if errV == nil && errW == nil && v != w {
				return cmp.Compare(v, w)
			}
			if errV == nil && errW == nil {
				x, y = x[n:], y[m:]
				continue
			}
		}
		if x[0] != y[0] {
			return cmp.Compare(x[0], y[0])
		}
		x, y = x[1:], y[1:]
	}
	return cmp.Or(cmp.Compare(len(a), len(b)), cmp.Compare(a, b))
}

func digits(s string) int {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return n
}

// Passing is the series of kernel processing over the entries; target nil where there is none.
func Passing(say *words.Words, entries []Entry, target *float64) plots.Series {
	s := plots.Series{Title: say.T("Kernel mass through the 4.75 mm mesh, estimated from outlines"), Y: say.T("share of kernel mass, %"), Target: target, Most: 100}
	return fill(s, entries, PassingOf)
}

// Lengths is the series of the mean length of the stover.
func Lengths(say *words.Words, entries []Entry) plots.Series {
	s := plots.Series{Title: say.T("Mean length of the stover"), Y: say.T("geometric mean length by area, %s", say.LengthUnit())}
	return fill(s, entries, func(s *result.Sample) *result.Estimate { return inLengthUnit(say, LengthOf(s)) })
}

func fill(s plots.Series, entries []Entry, of func(*result.Sample) *result.Estimate) plots.Series {
	for _, e := range entries {
		s.Names, s.Values = append(s.Names, e.Name), append(s.Values, of(e.Sample))
	}
	return s
}

func inLengthUnit(say *words.Words, e *result.Estimate) *result.Estimate {
	if e == nil {
		return nil
	}
	return &result.Estimate{Value: say.InLengthUnit(e.Value), Low: say.InLengthUnit(e.Low), High: say.InLengthUnit(e.High), Level: e.Level}
}

// PassingOf is the share of kernel mass through 4.75 mm, nil where there is none.
func PassingOf(s *result.Sample) *result.Estimate {
	if s == nil || s.Kernels == nil {
		return nil
	}
	return s.Kernels.Passing475Pct
}

// LengthOf is the geometric mean length of the stover, nil where there is none.
func LengthOf(s *result.Sample) *result.Estimate {
	if s == nil || s.Pieces == nil {
		return nil
	}
	return s.Pieces.GeometricMeanMM
}

// Kernels is the chart of the kernel pieces, where the sample has an estimate of them.
func Kernels(say *words.Words, doc result.Document) (plots.Chart, error) {
	if PassingOf(doc.Sample) == nil {
		return plots.Chart{}, plots.ErrNothing
	}
	return plots.Kernels(say, doc.Photos)
}

// Stover is the chart of the lengths, where the sample has an estimate of them: what is left of the stover after the
// water test says nothing of the chop.
func Stover(say *words.Words, doc result.Document, target *plots.Range) (plots.Chart, error) {
	if LengthOf(doc.Sample) == nil {
		return plots.Chart{}, plots.ErrNothing
	}
	return plots.Lengths(say, doc.Photos, target)
}
