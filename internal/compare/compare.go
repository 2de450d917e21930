package compare

import (
	"cmp"
	"fmt"
	"slices"

	"gristmark/internal/stats"
	"gristmark/internal/words"
)

// Schema names the version of the comparison document.
const Schema = "gristmark.compare/1"

// Verdicts on a difference.
const (
	Higher  = "higher"    // the second sample has more, its whole interval above 0
	Lower   = "lower"     // less
	None    = "not_shown" // the interval holds 0
	Unknown = "undecided" // too few photos or shakes for an interval over them
)

// Options of a comparison.
type Options struct {
	Paired bool   // units belong together in order: the same loads before and after
	Seed   uint64 // of the resampling; the same seed gives the same numbers
}

// Difference is the second sample less the first, in one measure.
type Difference struct {
	Measure    string  `json:"measure"`
	Unit       string  `json:"unit"` // points or mm
	A          float64 `json:"a"`
	B          float64 `json:"b"`
	Difference Range   `json:"difference"`
	Verdict    string  `json:"verdict"` // Higher, Lower, None, Unknown
	Method     string  `json:"method"`
	Resampled  *Range  `json:"resampled,omitempty"` // by resampling whole units, where there are enough
	UnitsA     int     `json:"units_a"`
	UnitsB     int     `json:"units_b"`
}

// Range is a difference with its interval; Low and High are nil where there is none.
type Range struct {
	Value float64  `json:"value"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
	Level *float64 `json:"level"`
}

// Counts compares the whole kernels by their counts alone, as if pieces were drawn one by one.
type Counts struct {
	WholeA     int     `json:"whole_a"`
	KernelsA   int     `json:"kernels_a"`
	WholeB     int     `json:"whole_b"`
	KernelsB   int     `json:"kernels_b"`
	Difference Range   `json:"difference_points"` // Newcombe 1998
	FisherP    float64 `json:"fisher_p"`          // two-sided
	Small      bool    `json:"small"`             // an expected count under 5: the exact test counts
}

// Document is the comparison document; docs/compare.md describes its JSON form.
type Document struct {
	Schema      string       `json:"schema"`
	Version     string       `json:"version,omitempty"`
	A           Name         `json:"a"`
	B           Name         `json:"b"`
	Paired      bool         `json:"paired"`
	Conclusion  string       `json:"conclusion"`
	Differences []Difference `json:"differences"`
	Counts      *Counts      `json:"kernel_counts"`
	Notes       []string     `json:"notes"`
}

// Name says what a side is.
type Name struct {
	Label string `json:"label"`
	Kind  string `json:"kind"`
	Units int    `json:"units"`
	State string `json:"state,omitempty"` // of the crop; empty: not told, taken as fresh
}

// Compare holds b against a. An error refuses the pair and says why.
func Compare(a, b Side, opt Options) (*Document, error) {
	if err := comparable(a, b, opt); err != nil {
		return nil, err
	}
	d := &Document{Schema: Schema, A: a.name(), B: b.name(), Paired: opt.Paired, Notes: []string{}}
	for i, m := range common(a, b) {
		d.Differences = append(d.Differences, difference(m, a, b, opt, opt.Seed+uint64(2*i)))
	}
	if len(d.Differences) == 0 {
		return nil, fmt.Errorf("compare: %s and %s have no figure in common", a.Label, b.Label)
	}
	d.Counts = counts(a, b)
	d.Conclusion = conclude(d, nil)
	d.remarks()
	if a.Corrected || b.Corrected {
		d.Notes = append(d.Notes, "corrected samples are compared by their figures from outlines, as the correction's own doubt is common to both")
	}
	return d, nil
}

func (s Side) name() Name {
	return Name{Label: s.Label, Kind: s.Kind, Units: len(s.Units), State: s.State}
}

// comparable refuses pairs whose difference would mean nothing.
func comparable(a, b Side, opt Options) error {
	switch {
	case a.Kind != b.Kind:
		return fmt.Errorf("compare: %s is from %s and %s from %s; compare like with like, a photo's box is a model of the weighed one", a.Label, a.Kind, b.Label, b.Kind)
	case cmp.Or(a.State, "fresh") != cmp.Or(b.State, "fresh"):
		return fmt.Errorf("compare: %s is %s and %s is %s; fresh chop and fermented silage are not mixed: kernels soften and fibre sinks in storage, so a difference says nothing of the machine", a.Label, stateWords(a), b.Label, stateWords(b))
	case a.Basis != b.Basis:
		return fmt.Errorf("compare: the kernel figures rest on different bases (%s: %q; %s: %q); measure both the same way", a.Label, a.Basis, b.Label, b.Basis)
	case opt.Paired && len(a.Units) != len(b.Units):
		return fmt.Errorf("compare: pairs need as many units on both sides; %s has %d, %s has %d", a.Label, len(a.Units), b.Label, len(b.Units))
	}
	for _, h := range a.SHA256 {
		if slices.Contains(b.SHA256, h) {
			return fmt.Errorf("compare: %s and %s share a photo; a sample cannot differ from itself", a.Label, b.Label)
		}
	}
	return nil
}

func stateWords(s Side) string {
	return cmp.Or(s.State, "of no stated state, taken as fresh")
}

func difference(m Measure, a, b Side, opt Options, seed uint64) Difference {
	va, vb := a.Sample[m.Name], b.Sample[m.Name]
	ra, rb := collect(a, m.Name), collect(b, m.Name)
	d := Difference{Measure: m.Name, Unit: m.Unit, A: va.Value, B: vb.Value, UnitsA: ra.units(), UnitsB: rb.units(), Verdict: Unknown}
	d.Difference.Value = vb.Value - va.Value
	if opt.Paired {
		if value, half, ok := paired(ra, rb); ok {
			d.Method = "Student's t over pairs"
			d.settle(value, stats.Interval{Low: value - half, High: value + half}, resampledPairs(ra, rb, seed), "pairs")
			return d
		}
	}
	if half, ok := unpaired(ra, rb); ok {
		i := stats.Interval{Low: d.Difference.Value - half, High: d.Difference.Value + half}
		d.Method = "Student's t over units"
		d.settle(d.Difference.Value, i, resampled(ra, rb, seed), "units")
		return d
	}
	if va.Level > 0 && vb.Level > 0 && a.Kind == Photos {
		d.Difference = between(d.Difference.Value, mover(va, vb), m.Unit)
		d.Method = "from the samples' own intervals; the spread between handfuls is not seen"
		return d
	}
	d.Method = "one unit a side: no interval"
	return d
}

// settle gives the difference its interval, joined with the resampled one where there is one, and its verdict.
func (d *Difference) settle(value float64, i stats.Interval, again *stats.Interval, what string) {
	if again != nil {
		own := between(value, *again, d.Unit)
		d.Resampled, d.Method = &own, d.Method+", joined with resampled "+what
		i = i.Join(*again)
	}
	d.Difference = between(value, i, d.Unit)
	d.Verdict = verdict(d.Difference)
}

// between is a difference with its interval; one of percentages cannot pass 100 points.
func between(value float64, i stats.Interval, unit string) Range {
	lev := level
	if unit == "points" {
		i = i.Clip(-100, 100)
	}
	return Range{Value: value, Low: &i.Low, High: &i.High, Level: &lev}
}

func verdict(r Range) string {
	switch {
	case r.Low == nil:
		return Unknown
	case *r.Low > 0:
		return Higher
	case *r.High < 0:
		return Lower
	}
	return None
}

// counts compares whole kernels by count; nil without kernels on both sides.
func counts(a, b Side) *Counts {
	if a.Kernel == 0 || b.Kernel == 0 {
		return nil
	}
	xa, na, xb, nb := float64(a.Whole), float64(a.Kernel), float64(b.Whole), float64(b.Kernel)
	i := stats.NewcombeDifference(xb, nb, xa, na, level).Scale(100)
	pooled := (xa + xb) / (na + nb)
	least := min(na, nb) * min(pooled, 1-pooled)
	return &Counts{WholeA: a.Whole, KernelsA: a.Kernel, WholeB: b.Whole, KernelsB: b.Kernel,
		Difference: between(100*(xb/nb-xa/na), i, "points"), FisherP: stats.FisherExact(b.Whole, b.Kernel, a.Whole, a.Kernel), Small: least < 5}
}

// conclude is the plain sentence: the first measure that differs, else that none does.
func conclude(d *Document, say *words.Words) string {
	for _, f := range d.Differences {
		m := Measures[slices.IndexFunc(Measures, func(m Measure) bool { return m.Name == f.Measure })]
		switch f.Verdict {
		case Higher:
			return say.T("%s: %s.", say.T(m.More, d.B.Label, d.A.Label), f.Difference.text(f.Unit, say))
		case Lower:
			return say.T("%s: %s.", say.T(m.Less, d.B.Label, d.A.Label), f.Difference.text(f.Unit, say))
		}
	}
	if !slices.ContainsFunc(d.Differences, func(f Difference) bool { return f.Verdict == None }) {
		return say.T("No verdict: it takes at least two %s of each sample to see how much handfuls differ by themselves.", say.T(d.A.Kind))
	}
	f := d.Differences[0]
	return say.T("No difference is shown between %s and %s: %s %s.", d.A.Label, d.B.Label, say.T(measureWords[f.Measure]), f.Difference.text(f.Unit, say))
}

// measureWords name the measures in sentences and tables.
var measureWords = map[string]string{
	"passing_4_75_pct": words.K("kernels through 4.75 mm"), "whole_pct": words.K("whole kernels"), "geometric_mean_mm": words.K("mean length"),
	"top_pct": words.K("top box"), "middle_pct": words.K("middle box"), "lower_pct": words.K("lower box"), "pan_pct": words.K("pan"), "top_middle_pct": words.K("two upper boxes"),
}

// text prints "+9 points, 95 % 3 to 15".
func (r Range) text(unit string, say *words.Words) string {
	in, decimals := scale(unit, say)
	s := say.Signed(in(r.Value), decimals) + " " + unitWord(unit, say)
	if r.Low != nil {
		s += say.T(", 95 %% %s to %s", say.Number(in(*r.Low), decimals), say.Number(in(*r.High), decimals))
	}
	return s
}

// scale turns a figure in the unit of its measure, "mm" or "points", into the unit that people read, with its decimals.
func scale(unit string, say *words.Words) (in func(float64) float64, decimals int) {
	if unit == "mm" && say.Units() == words.US {
		return say.InLengthUnit, 3
	}
	return func(v float64) float64 { return v }, 1
}

func unitWord(unit string, say *words.Words) string {
	if unit == "mm" {
		return say.LengthUnit()
	}
	return say.T(unit)
}

func (d *Document) remarks() {
	shown := 0
	for _, f := range d.Differences {
		if f.Verdict == Higher || f.Verdict == Lower {
			shown++
		}
	}
	if shown > 0 && len(d.Differences) > 3 {
		d.Notes = append(d.Notes, fmt.Sprintf("%d figures were compared; with 95 %% intervals one in twenty differs by chance", len(d.Differences)))
	}
	if d.A.Kind == Photos {
		d.Notes = append(d.Notes, "estimates from outlines, not laboratory scores")
	}
}
