package web

import (
	"bytes"
	"errors"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"gristmark/internal/compare"
	"gristmark/internal/estimate"
	"gristmark/internal/harvest"
	"gristmark/internal/judge"
	"gristmark/internal/kernel"
	"gristmark/internal/result"
)

type compareRow struct {
	Name, A, B string
	Svg        template.HTML
	Say, Class string
}

type compareResult struct {
	Conclusion string
	A, B       string
	Rows       []compareRow
	Notes      []string
}

type selectView struct {
	Label, Name string
	Options     []option
}

type sideForm struct {
	Name, Key string
	Selects   []selectView
	From, To  string
}

type pickRow struct {
	ID                int64
	Name, When, Field string
	Set               []string
	A, B              bool
}

type compareBody struct {
	Result *compareResult
	Sides  []sideForm
	Loads  []pickRow
	Picked bool
	Paired bool
}

// sideKeys are what a side may be chosen by; in the address they follow a or b.
var sideKeys = []string{"field", "hybrid", "process", "gap", "tloc", "from", "to"}

func comparePage(c *call) error {
	h, err := c.harvest()
	if err != nil {
		return err
	}
	q := c.r.URL.Query()
	loads, err := c.desk().Loads(c.ctx(), h.ID, harvest.Filter{})
	if err != nil {
		return err
	}
	b := compareBody{Paired: q.Get("paired") != "", Picked: len(q["a"])+len(q["b"]) > 0}
	for _, key := range []string{"a", "b"} {
		b.Sides = append(b.Sides, c.sideForm(key, q, loads))
	}
	for _, l := range loads {
		if l.Document == nil || l.Document.Sample == nil {
			continue
		}
		id := strconv.FormatInt(l.ID, 10)
		b.Loads = append(b.Loads, pickRow{l.ID, l.Name, c.when(l.At), l.Settings.Field, c.set(l.Settings), slices.Contains(q["a"], id), slices.Contains(q["b"], id)})
	}
	p := page{Title: c.t("Compare"), Crumbs: []crumb{{h.Name, fmt.Sprintf("/harvests/%d", h.ID)}, {c.t("Compare"), ""}}}
	status := http.StatusOK
	if asked(q) {
		if b.Result, err = c.compare(h, loads, q, b.Paired); errors.Is(err, errForm) {
			status, p.Fault = c.answer(err)
		} else if err != nil {
			return err
		}
	}
	p.Body = b
	return c.show(status, "compare", p)
}

func asked(q url.Values) bool {
	for _, side := range []string{"a", "b"} {
		if len(q[side]) > 0 {
			return true
		}
		for _, k := range sideKeys {
			if q.Get(side+k) != "" {
				return true
			}
		}
	}
	return false
}

func (c *call) sideForm(key string, q url.Values, loads []harvest.Load) sideForm {
	f := sideForm{Name: strings.ToUpper(key), Key: key, From: q.Get(key + "from"), To: q.Get(key + "to")}
	for _, s := range []struct {
		name, label string
		of          func(harvest.Settings) string
	}{
		{"field", c.t("Field"), func(s harvest.Settings) string { return s.Field }},
		{"hybrid", c.t("Hybrid"), func(s harvest.Settings) string { return s.Hybrid }},
		{"process", c.t("Processor"), func(s harvest.Settings) string { return s.Process }},
		{"gap", c.t("Roll gap, mm"), func(s harvest.Settings) string { return plainNumber(s.RollGapMM) }},
		{"tloc", c.t("Length of cut (TLOC), mm"), func(s harvest.Settings) string { return plainNumber(s.TLOCMM) }},
	} {
		var values []string
		for _, l := range loads {
			values = with(values, s.of(l.Settings))
		}
		f.Selects = append(f.Selects, selectView{Label: s.label, Name: key + s.name, Options: options(values, q.Get(key+s.name))})
	}
	return f
}

// picked are the loads of one side: those ticked, or all that fit what was chosen.
func picked(key string, q url.Values, loads []harvest.Load) []harvest.Load {
	f, _ := filter(url.Values{"from": q[key+"from"], "to": q[key+"to"]})
	var out []harvest.Load
	for _, l := range loads {
		s := l.Settings
		fits := len(q[key]) == 0
		if !fits {
			fits = slices.Contains(q[key], strconv.FormatInt(l.ID, 10))
		}
		for name, value := range map[string]string{"field": s.Field, "hybrid": s.Hybrid, "process": s.Process, "gap": plainNumber(s.RollGapMM), "tloc": plainNumber(s.TLOCMM)} {
			if want := q.Get(key + name); want != "" && want != value {
				fits = false
			}
		}
		if (!f.From.IsZero() && l.At.Before(f.From)) || (!f.To.IsZero() && !l.At.Before(f.To)) {
			fits = false
		}
		if fits && l.Document != nil && l.Document.Sample != nil {
			out = append(out, l)
		}
	}
	return out
}

func (c *call) compare(h harvest.Harvest, loads []harvest.Load, q url.Values, paired bool) (*compareResult, error) {
	a, b := picked("a", q, loads), picked("b", q, loads)
	if len(a) == 0 || len(b) == 0 {
		return nil, formError{c.t("One side has no measured load: choose loads for A and for B.")}
	}
	for _, l := range a {
		if slices.ContainsFunc(b, func(o harvest.Load) bool { return o.ID == l.ID }) {
			return nil, formError{c.t("%s is in A and in B: nothing can be compared with itself.", l.Name)}
		}
	}
	sideA, err := c.side(h, a)
	if err != nil {
		return nil, err
	}
	sideB, err := c.side(h, b)
	if err != nil {
		return nil, err
	}
	doc, err := compare.Compare(sideA, sideB, compare.Options{Paired: paired, Seed: 1})
	if err != nil {
		return nil, formError{c.sentence(err)}
	}
	return c.comparison(doc, a, b)
}

// side makes one sample of the photos of all loads of a side.
func (c *call) side(h harvest.Harvest, loads []harvest.Load) (compare.Side, error) {
	name := sideName(loads)
	if len(loads) == 1 {
		l, err := c.desk().Load(c.ctx(), loads[0].ID)
		if err != nil {
			return compare.Side{}, err
		}
		return sideOf(l.Document, name)
	}
	doc := &result.Document{Schema: result.Schema}
	for _, thin := range loads {
		l, err := c.desk().Load(c.ctx(), thin.ID)
		if err != nil {
			return compare.Side{}, err
		}
		doc.Photos = append(doc.Photos, l.Document.Photos...)
	}
	s := loads[0].Settings
	show := s.Show
	for _, l := range loads {
		if l.Settings.Show != show {
			show = estimate.ShowMixed
		}
	}
	doc.Show = show
	doc.Sample = judge.Estimate(doc.Photos, judge.Options{Show: show, Kernel: kernel.Unbroken{}})
	if doc.Sample != nil {
		doc.Sample.State = s.State
	}
	return sideOf(doc, name)
}

func sideOf(doc *result.Document, name string) (compare.Side, error) {
	side, err := compare.FromDocument(doc, name)
	if err != nil {
		return side, formError{err.Error()}
	}
	return side, nil
}

func sideName(loads []harvest.Load) string {
	if len(loads) == 1 {
		return loads[0].Name
	}
	return fmt.Sprintf("%s and %d more", loads[0].Name, len(loads)-1)
}

// measureNames are what is compared, as people know it.
func (c *call) measureNames() map[string]string {
	return map[string]string{"passing_4_75_pct": c.t("kernel mass through 4.75 mm, %"), "whole_pct": c.t("whole kernels, %"), "geometric_mean_mm": c.t("mean length, mm"),
		"top_pct": c.t("top box, %"), "middle_pct": c.t("middle box, %"), "lower_pct": c.t("lower box, %"), "pan_pct": c.t("pan, %"), "top_middle_pct": c.t("two upper boxes, %")}
}

func (c *call) comparison(doc *compare.Document, a, b []harvest.Load) (*compareResult, error) {
	out := &compareResult{Conclusion: upper(c.in.words.Say(doc.Conclusion)), A: sideName(a), B: sideName(b)}
	names := c.measureNames()
	for _, d := range doc.Differences {
		r := compareRow{Name: names[d.Measure], A: c.figure(d.A), B: c.figure(d.B)}
		switch d.Verdict {
		case compare.Higher:
			r.Say, r.Class = c.t("B is higher"), "shown"
		case compare.Lower:
			r.Say, r.Class = c.t("B is lower"), "shown"
		case compare.None:
			r.Say = c.t("no difference shown")
		default:
			r.Say = c.t("too few photos to tell")
		}
		r.Say += ": " + c.signed(d.Difference.Value) + " " + c.t(d.Unit)
		if d.Difference.Low != nil && d.Difference.High != nil {
			r.Say += " (" + c.t("%s to %s", c.signed(*d.Difference.Low), c.signed(*d.Difference.High)) + ")"
			svg, err := differenceBar(d.Difference)
			if err != nil {
				return nil, err
			}
			r.Svg = svg
		}
		out.Rows = append(out.Rows, r)
	}
	for _, n := range doc.Notes {
		out.Notes = append(out.Notes, upper(c.in.words.Say(n))+".")
	}
	return out, nil
}

func (c *call) signed(v float64) string {
	if v > 0 {
		return "+" + c.figure(v)
	}
	return strings.Replace(c.figure(v), "-", "−", 1)
}

var differenceDrawing = template.Must(template.New("difference").Parse(`<svg viewBox="0 0 400 40" aria-hidden="true"><line class="d-axis" x1="10" x2="390" y1="20" y2="20"/><line class="d-zero" x1="{{.Zero}}" x2="{{.Zero}}" y1="6" y2="34"/><line class="d-range" x1="{{.Low}}" x2="{{.High}}" y1="20" y2="20"/><circle class="d-point" cx="{{.At}}" cy="20" r="7"/></svg>`))

// differenceBar draws a difference and its interval about nothing.
func differenceBar(d compare.Range) (template.HTML, error) {
	most := 1.15 * math.Max(math.Abs(*d.Low), math.Abs(*d.High))
	if most == 0 {
		most = 1
	}
	at := func(v float64) string { return px(200 + 190*v/most) }
	var b bytes.Buffer
	err := differenceDrawing.Execute(&b, map[string]string{"Zero": at(0), "Low": at(*d.Low), "High": at(*d.High), "At": at(d.Value)})
	return template.HTML(b.String()), err // made by html/template
}
