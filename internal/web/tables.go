package web

import (
	"strconv"

	"gristmark/internal/result"
)

type tableView struct {
	Title string
	Rows  []rowView
}

type rowView struct{ Name, Value, Range string }

// numberTables are counts, lengths and boxes of a sample.
func (c *call) numberTables(s *result.Sample) []tableView {
	var out []tableView
	if s == nil {
		return nil
	}
	if k := s.Kernels; k != nil && k.Whole+k.Broken > 0 {
		t := tableView{Title: c.t("Kernels counted")}
		t.Rows = append(t.Rows, rowView{c.t("whole"), strconv.Itoa(k.Whole), ""}, rowView{c.t("broken"), strconv.Itoa(k.Broken), ""})
		t.add(c, c.t("whole, share of pieces"), k.WholePct, "%")
		t.add(c, c.t("mass through 4.75 mm"), k.Passing475Pct, "%")
		out = append(out, t)
	}
	p := s.Pieces
	if p == nil || p.N == 0 {
		return out
	}
	t := tableView{Title: c.t("Stalk, leaf, husk, cob")}
	t.Rows = append(t.Rows, rowView{c.t("pieces measured"), strconv.Itoa(p.N), ""})
	t.add(c, c.t("mean length"), p.GeometricMeanMM, "mm")
	if l := p.LengthClassesPct; l != nil {
		for _, r := range []struct {
			name  string
			share float64
		}{{c.t("over 19 mm"), l.Over19}, {c.t("8 to 19 mm"), l.From8}, {c.t("4 to 8 mm"), l.From4}, {c.t("under 4 mm"), l.Under4}} {
			t.Rows = append(t.Rows, rowView{r.name, c.figure(r.share) + " %", ""})
		}
	}
	out = append(out, t)
	if b := p.BoxPct; b != nil {
		t := tableView{Title: c.t("Sieve boxes, modelled")}
		t.add(c, c.t("top, 19 mm"), &b.Top, "%")
		t.add(c, c.t("middle, 8 mm"), &b.Middle, "%")
		t.add(c, c.t("lower, 4 mm"), &b.Lower, "%")
		t.add(c, c.t("pan"), &b.Pan, "%")
		out = append(out, t)
	}
	return out
}

func (t *tableView) add(c *call, name string, e *result.Estimate, unit string) {
	if e != nil {
		t.Rows = append(t.Rows, rowView{name, c.figure(e.Value) + " " + unit, c.short(*e)})
	}
}
