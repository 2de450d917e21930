// Package weigh holds weighed sieve fractions against targets: it joins what the fractions say (internal/sieve) and what
// the targets ask (internal/advice) into the sieve document, and prints it.
package weigh

import (
	"cmp"
	"fmt"
	"slices"

	"gristmark/internal/advice"
	"gristmark/internal/result"
	"gristmark/internal/sieve"
)

// Document is the sieve document of one sample; docs/sieve.md describes its JSON form.
type Document struct {
	Schema  string  `json:"schema"`
	Version string  `json:"version,omitempty"` // of the program that wrote it
	File    string  `json:"file,omitempty"`    // of the table; empty when typed
	Refused *string `json:"refused"`           // why the sample cannot be trusted; nil: it can
	*sieve.Report
	Targets  *Held           `json:"targets"` // nil: no target speaks of this stack
	Verdict  result.Verdict  `json:"verdict"`
	Findings []Finding       `json:"findings"`
	Advice   []result.Advice `json:"advice"`
}

// Held names the target set that the sample was held against.
type Held struct {
	Name     string `json:"name"`
	Title    string `json:"title"`
	Material string `json:"material"`
	Process  string `json:"process"`
}

// Finding is one share held against its target.
type Finding struct {
	Measure string   `json:"measure"`
	Value   float64  `json:"value"`
	Target  string   `json:"target"`
	Min     *float64 `json:"min"`
	Max     *float64 `json:"max"`
	Side    string   `json:"side"` // on_target, short_of_target, over_target, undecided
	Source  string   `json:"source"`
}

var partMeasures = map[string]string{"top": advice.TopPct, "middle": advice.MiddlePct, "lower": advice.LowerPct, "pan": advice.PanPct, "top_middle": advice.TopMiddlePct}

// Choice says which targets to take: a named set, or the first for material and process.
type Choice struct {
	Catalogue advice.Catalogue
	Set       string // name of a set; wins over the two below
	Material  string // empty: maize-silage
	Process   string // empty: conventional
}

// pick finds the set for the box; none where the stack is no box.
func (c Choice) pick(box string) (*advice.TargetSet, error) {
	if box == "" {
		return nil, nil
	}
	if c.Set != "" {
		s, err := c.Catalogue.Find(c.Set)
		return &s, err
	}
	material := cmp.Or(c.Material, "maize-silage")
	s, err := c.Catalogue.Pick(material, c.Process, box)
	if err != nil {
		return nil, nil // no target for this box: the numbers stand without a verdict
	}
	return &s, nil
}

// Build computes the document of a weighing. An error refuses the sample or the choice of targets; a sample that
// lost too much is returned without a verdict, its Refused filled in.
func Build(w sieve.Weighing, terms sieve.Terms, choice Choice, ctx advice.Context) (*Document, error) {
	r, err := sieve.Analyse(w, terms)
	if err != nil {
		return nil, err
	}
	d := &Document{Schema: sieve.Schema, Report: r, Findings: []Finding{}, Advice: []result.Advice{}}
	parts, box := sieve.BoxShares(w.Shakes)
	set, err := choice.pick(box)
	if err != nil {
		return nil, err
	}
	if set == nil || (choice.Set != "" && set.Box != box) {
		d.Notes = append(d.Notes, "no target set speaks of this stack, so there is no verdict; gristmark targets lists them")
	} else {
		d.hold(parts, ctx, *set)
		d.others(choice, *set)
	}
	if why := r.Refusal(); why != nil {
		s := why.Error()
		d.Refused, d.Verdict.Pieces, d.Advice = &s, nil, []result.Advice{}
	}
	return d, nil
}

// others names the sets that speak of the same box, material and process, where none was chosen by name and their shares differ.
func (d *Document) others(choice Choice, set advice.TargetSet) {
	if choice.Set != "" {
		return
	}
	for _, s := range choice.Catalogue.Sets {
		if s.Name != set.Name && s.Material == set.Material && s.Process == set.Process && s.Box == set.Box && !sameShares(s, set) {
			d.Notes = append(d.Notes, fmt.Sprintf("there are other targets for this box: --set %s (%s)", s.Name, s.Title))
		}
	}
}

// sameShares reports whether two sets ask the same of every part of the box.
func sameShares(a, b advice.TargetSet) bool {
	for _, measure := range partMeasures {
		la, inA := a.Line(measure)
		lb, inB := b.Line(measure)
		if inA != inB || inA && la.Range() != lb.Range() {
			return false
		}
	}
	return true
}

func (d *Document) hold(parts map[string]sieve.Share, ctx advice.Context, set advice.TargetSet) {
	shares := map[string]result.Estimate{}
	for part, s := range parts {
		shares[partMeasures[part]] = s.Estimate()
	}
	d.Targets = &Held{Name: set.Name, Title: set.Title, Material: set.Material, Process: set.Process}
	found, v, todo := advice.JudgeShares(shares, ctx, set)
	d.Verdict, d.Advice = v, todo
	for _, f := range found {
		d.Findings = append(d.Findings, Finding{Measure: f.Line.Measure, Value: f.Estimate.Value, Target: f.Line.Range(),
			Min: f.Line.Min, Max: f.Line.Max, Side: f.Side.String(), Source: f.Line.Source})
	}
}

// Band is the target band of the undersize at the openings that the findings speak of, coarse to fine turned
// around: what the shares above an opening may sum to at most and at least.
func (d *Document) Band() []sieve.Band {
	third := 4.0
	if d.Stack == sieve.OlderBox {
		third = 1.18
	}
	var band []sieve.Band
	low, high := 0.0, 0.0 // least and most that may lie above
	for _, p := range []struct {
		measure string
		mm      float64
	}{{advice.TopPct, 19}, {advice.MiddlePct, 8}, {advice.LowerPct, third}} {
		i := slices.IndexFunc(d.Findings, func(f Finding) bool { return f.Measure == p.measure })
		if i < 0 {
			break
		}
		f := d.Findings[i]
		if f.Min != nil {
			low += *f.Min
		}
		if f.Max == nil {
			high = 100
		} else {
			high += *f.Max
		}
		band = append(band, sieve.Band{OpeningMM: p.mm, LowPct: max(0, 100-high), HighPct: max(0, 100-low)})
	}
	slices.Reverse(band)
	return d.tightenByPan(band, third)
}

// tightenByPan narrows the last opening by the pan's own target.
func (d *Document) tightenByPan(band []sieve.Band, third float64) []sieve.Band {
	i := slices.IndexFunc(d.Findings, func(f Finding) bool { return f.Measure == advice.PanPct })
	if i < 0 || len(band) == 0 || band[0].OpeningMM != third {
		return band
	}
	f := d.Findings[i]
	if f.Max != nil {
		band[0].HighPct = min(band[0].HighPct, *f.Max)
	}
	if f.Min != nil {
		band[0].LowPct = max(band[0].LowPct, *f.Min)
	}
	return band
}
