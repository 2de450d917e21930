package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"gristmark/internal/advice"
	"gristmark/internal/cup"
	"gristmark/internal/harvest"
	"gristmark/internal/result"
	"gristmark/internal/sieve"
	"gristmark/internal/weigh"
)

// cupRisk is the risk that the plan of cups allows, as in the command.
const cupRisk = 0.05

// typedView is a typed-in result, worked out.
type typedView struct {
	Title, When, By string
	Words           string
	Head            []string
	Rows            [][]string
	Advice          []result.Advice
	Notes           []string
	Drop            string // address that takes it away; empty: who asks may not
}

func (c *call) typedViews(l harvest.Load, set advice.TargetSet, may bool) []typedView {
	var out []typedView
	for _, t := range l.Typed {
		v := typedView{When: c.when(t.At), By: t.By}
		switch t.Kind {
		case harvest.TypedSieve:
			c.sieveView(&v, t, l.Settings, set)
		case harvest.TypedCup:
			c.cupView(&v, t)
		default:
			v.Title = c.t("Laboratory")
			for name, value := range t.Fields {
				v.Rows = append(v.Rows, []string{name, value})
			}
		}
		if may {
			v.Drop = fmt.Sprintf("/loads/%d/typed/%d/drop", l.ID, t.ID)
		}
		out = append(out, v)
	}
	return out
}

// boxParts are the parts of a box in the form, top first.
var boxParts = []string{"top", "middle", "lower", "pan"}

// sieveFields turns the form into the fields that are kept: the text of a sieve file, and what was put in.
func (c *call) sieveFields(get func(string) string) (map[string]string, error) {
	var rows strings.Builder
	rows.WriteString("sieve,mass_g\n")
	for _, part := range boxParts {
		text := strings.TrimSpace(get(part))
		if text == "" {
			return nil, formError{c.t("Weigh all four: a part that held nothing is 0 g.")}
		}
		g, err := sieve.ParseGrams(text)
		if err != nil {
			return nil, formError{upper(part) + ": " + c.sentence(err)}
		}
		fmt.Fprintf(&rows, "%s,%s\n", part, strconv.FormatFloat(g, 'f', -1, 64))
	}
	out := map[string]string{"table": rows.String(), "box": get("box")}
	if text := strings.TrimSpace(get("put_in")); text != "" {
		g, err := sieve.ParseGrams(text)
		if err != nil {
			return nil, formError{c.t("Put in") + ": " + c.sentence(err)}
		}
		out["put_in_g"] = strconv.FormatFloat(g, 'f', -1, 64)
	}
	return out, nil
}

// weighed works a typed box out; the error refuses it.
func weighed(fields map[string]string, s harvest.Settings, set advice.TargetSet) (*weigh.Document, error) {
	opt := sieve.Options{Box: fields["box"], DMPct: s.DMPct}
	if g, err := strconv.ParseFloat(fields["put_in_g"], 64); err == nil {
		opt.PutInG = &g
	}
	w, err := sieve.Parse([]byte(fields["table"]), opt)
	if err != nil {
		return nil, err
	}
	for _, shake := range w.Shakes {
		if err := sieve.Implausible(shake); err != nil {
			return nil, err
		}
	}
	doc, err := weigh.Build(w, sieve.Terms{}, weigh.Choice{Catalogue: advice.Targets(), Material: set.Material, Process: set.Process},
		advice.Context{State: s.State, DMPct: s.DMPct, TLOCMM: s.TLOCMM, RollGapMM: s.RollGapMM})
	if err == nil && doc.Refused != nil {
		err = formError{*doc.Refused}
	}
	return doc, err
}

func addSieve(c *call) error {
	l, h, set, err := c.load()
	if err == nil {
		err = c.must(h, harvest.Crew)
	}
	if err != nil {
		return err
	}
	values := map[string]string{}
	for _, name := range append([]string{"put_in", "box"}, boxParts...) {
		values[name] = c.r.PostFormValue(name)
	}
	fields, err := c.sieveFields(c.r.PostFormValue)
	if err == nil {
		_, err = weighed(fields, l.Settings, set)
	}
	if err != nil {
		return c.loadWith(http.StatusUnprocessableEntity, typedValues{sieve: values, sieveFault: c.sentence(err)})
	}
	if _, err := c.desk().AddTyped(c.ctx(), l.ID, harvest.TypedSieve, fields); err != nil {
		return err
	}
	return c.see(fmt.Sprintf("/loads/%d", l.ID), "added")
}

func (c *call) sieveView(v *typedView, t harvest.Typed, s harvest.Settings, set advice.TargetSet) {
	v.Title = c.t("Sieve box")
	doc, err := weighed(t.Fields, s, set)
	if err != nil {
		v.Words = c.sentence(err)
		return
	}
	v.Words = c.pieceLook(doc.Verdict.Pieces).words
	if g := doc.Geometric; g != nil {
		v.Words += ", " + c.t("mean length %s mm", c.figure(g.MeanMM))
	}
	v.Head = []string{c.t("Part"), "g", "%", c.t("Target")}
	target := map[string]string{}
	for _, f := range doc.Findings {
		target[f.Measure] = f.Target
	}
	for i, f := range doc.Fractions {
		row := []string{c.in.words.Say(f.Sieve), c.figure(f.MassG), c.figure(f.SharePct.Value), ""}
		if i < len(boxMeasures) && len(doc.Fractions) == len(boxMeasures) {
			row[3] = target[boxMeasures[i]]
		}
		v.Rows = append(v.Rows, row)
	}
	for _, a := range doc.Advice {
		v.Advice = append(v.Advice, c.advice(a))
	}
	for _, n := range doc.Notes {
		v.Notes = append(v.Notes, upper(c.in.words.Say(n))+".")
	}
}

var boxMeasures = []string{advice.TopPct, advice.MiddlePct, advice.LowerPct, advice.PanPct}

// counted works a typed cup count out; the error refuses it.
func counted(get func(string) string) (*cup.Document, error) {
	count, err := strconv.Atoi(strings.TrimSpace(get("count")))
	if err != nil {
		return nil, formError{"the count is a whole number of kernels, 0 or more"}
	}
	cups, err := strconv.Atoi(strings.TrimSpace(get("cups")))
	if err != nil {
		return nil, formError{"cups are counted whole: write 1, 2, 3"}
	}
	litres, err := sieve.ParseNumber(strings.TrimSpace(get("litres")))
	if err != nil {
		return nil, formError{"the size of a cup is a number of litres, such as 0.946"}
	}
	return cup.Judge(count, cups, litres, cupRisk)
}

func addCup(c *call) error {
	l, h, _, err := c.load()
	if err == nil {
		err = c.must(h, harvest.Crew)
	}
	if err != nil {
		return err
	}
	values := map[string]string{}
	for _, name := range []string{"count", "cups", "litres"} {
		values[name] = c.r.PostFormValue(name)
	}
	if _, err := counted(c.r.PostFormValue); err != nil {
		return c.loadWith(http.StatusUnprocessableEntity, typedValues{cup: values, cupFault: c.sentence(err)})
	}
	if _, err := c.desk().AddTyped(c.ctx(), l.ID, harvest.TypedCup, values); err != nil {
		return err
	}
	return c.see(fmt.Sprintf("/loads/%d", l.ID), "added")
}

func (c *call) cupView(v *typedView, t harvest.Typed) {
	v.Title = c.t("Cup count")
	doc, err := counted(func(name string) string { return t.Fields[name] })
	if err != nil {
		v.Words = c.sentence(err)
		return
	}
	judged := map[string]string{cup.Good: c.t("Good: at most 2 a cup"), cup.Fair: c.t("Fair: 2 to 4 a cup"), cup.Poor: c.t("Poor: more than 4 a cup"), cup.Undecided: c.t("Too few cups to tell")}
	v.Words = judged[doc.Verdict]
	v.Head = []string{c.t("What"), c.t("Count"), c.t("Between")}
	v.Rows = [][]string{
		{c.t("whole and half kernels"), strconv.Itoa(doc.Count), c.t("cups of %s l: %d", c.in.words.Trimmed(doc.Litres, 3), doc.Cups)},
		{c.t("a cup of 0.946 l"), c.figure(doc.PerCup.Value), c.short(doc.PerCup)},
	}
	if doc.Verdict == cup.Undecided {
		v.Notes = []string{c.t("It takes %d cups to tell 2 a cup from 4.", doc.CupsToDo)}
	}
}

func dropTyped(c *call) error {
	l, _, _, err := c.load()
	if err != nil {
		return err
	}
	id, err := c.id("typed")
	if err != nil {
		return err
	}
	for _, t := range l.Typed {
		if t.ID == id {
			if err := c.desk().DropTyped(c.ctx(), id); err != nil {
				return err
			}
			return c.see(fmt.Sprintf("/loads/%d", l.ID), "removed")
		}
	}
	return harvest.ErrNone
}
