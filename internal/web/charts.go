package web

import (
	"errors"

	"gristmark/internal/advice"
	"gristmark/internal/harvest"
	"gristmark/internal/result"
	"gristmark/internal/web/runchart"
)

// figureOf takes one figure out of a sample; nil where it has none.
type figureOf func(*result.Sample) *result.Estimate

func passingOf(s *result.Sample) *result.Estimate {
	if s == nil || s.Kernels == nil {
		return nil
	}
	return s.Kernels.Passing475Pct
}

func lengthOf(s *result.Sample) *result.Estimate {
	if s == nil || s.Pieces == nil {
		return nil
	}
	return s.Pieces.GeometricMeanMM
}

// run is one figure over the loads.
type run struct {
	title, unit string
	of          figureOf
	low, high   *float64 // target
	most        *float64
}

// charts draws the runs of both figures and says where they drift.
func (c *call) charts(b *harvestBody, loads []harvest.Load, set advice.TargetSet) error {
	zero, hundred := 0.0, 100.0
	passing := run{title: c.t("Kernel mass through 4.75 mm, %"), unit: "%", of: passingOf, most: &hundred}
	if line, ok := set.Line(advice.PassingPct); ok {
		passing.low, passing.high = line.Min, line.Max
	}
	length := run{title: c.t("Mean length of stalk and leaf, mm"), unit: "mm", of: lengthOf}
	length.low, length.high = targetLength(loads, set)
	for _, r := range []run{passing, length} {
		chart, ids := c.chart(r, loads)
		chart.Least = &zero
		if len(chart.Points) < 2 {
			continue
		}
		wide, err := chart.Wide()
		slim, err2 := chart.Slim()
		if err := errors.Join(err, err2); err != nil {
			return err
		}
		say := c.watch(b, r, chart, ids)
		b.Charts = append(b.Charts, chartView{Title: r.title, Say: say, Wide: wide, Slim: slim})
	}
	if len(b.Charts) > 0 {
		b.Rules = c.rules()
	}
	return nil
}

// chart puts the loads with that figure in a row, oldest first.
func (c *call) chart(r run, loads []harvest.Load) (runchart.Chart, []harvest.Load) {
	chart := runchart.Chart{Label: r.title, TargetLow: r.low, TargetHigh: r.high, Most: r.most, Target: c.t("target"), Centre: c.t("mean"), Limit: c.t("limit")}
	var with []harvest.Load
	for _, l := range loads {
		if l.Document == nil {
			continue
		}
		e := r.of(l.Document.Sample)
		if e == nil {
			continue
		}
		p := runchart.Point{Name: l.Name, Href: loadHref(l.ID), Value: e.Value, Low: e.Low, High: e.High,
			Say: l.Name + ", " + c.when(l.At) + ": " + c.figure(e.Value) + " " + r.unit + " (" + c.short(*e) + ")"}
		if n := len(with); n > 0 {
			p.Mark = c.changed(with[n-1].Settings, l.Settings)
		}
		chart.Points, with = append(chart.Points, p), append(with, l)
	}
	return chart, with
}

// watch says how the run stands, and raises an alert where its last loads drift.
func (c *call) watch(b *harvestBody, r run, chart runchart.Chart, loads []harvest.Load) string {
	values := make([]float64, len(chart.Points))
	for i, p := range chart.Points {
		values[i] = p.Value
	}
	limits, ok := runchart.Find(values)
	if !ok {
		return c.t("No control limits yet: they take %d loads in a row that are steady; there are %d loads.", runchart.Stretch, len(values))
	}
	kinds := runchart.Signals(values, limits)
	last := len(values) - 1
	if kinds[last] != runchart.Fine {
		b.Alerts = append(b.Alerts, c.alert(r, chart, loads, values, limits, kinds))
	}
	return c.t("Limits %s to %s %s, made of %s to %s.", c.figure(max(0, limits.Low)), c.figure(limits.High), r.unit, loads[limits.From].Name, loads[limits.To-1].Name)
}

func (c *call) alert(r run, chart runchart.Chart, loads []harvest.Load, values []float64, limits runchart.Limits, kinds []runchart.Kind) alertView {
	last := len(values) - 1
	first := last // of the stretch of signals that is still on
	for first > 0 && kinds[first-1] != runchart.Fine {
		first--
	}
	way := c.t("above")
	if values[last] < limits.Centre {
		way = c.t("below")
	}
	a := alertView{Head: c.t("%s: it drifts", r.title)}
	if kinds[last] == runchart.Beyond {
		a.Text = c.t("%s, with %s %s, lies %s what the run's own scatter explains (%s to %s).", loads[last].Name, c.figure(values[last]), r.unit, way, c.figure(max(0, limits.Low)), c.figure(limits.High))
	} else {
		a.Text = c.t("The last %d loads all lie %s the mean of the steady stretch, %s %s.", max(runchart.Run, last-first+runchart.Run), way, c.figure(limits.Centre), r.unit)
	}
	for i := last; i >= max(0, first-runchart.Run); i-- {
		if m := chart.Points[i].Mark; m != "" {
			a.Text += " " + c.t("The machine was set anew before %s (%s): what was meant to change is no fault.", loads[i].Name, m)
			return a
		}
	}
	a.Text += " " + c.t("Nothing was set anew on the machine: look at knives, rolls and the crop.")
	return a
}

// rules are how the charts are read.
func (c *call) rules() []string {
	return []string{
		c.t("Each point is a load with its 95 % interval; a click opens it. The green band is the target. A dotted upright line marks a change of the machine's settings."),
		c.t("The limits (dashed) are three standard deviations about the mean, from the mean step between neighbouring loads over 1.128 (chart of individuals and moving range, Shewhart; ISO 7870-2)."),
		c.t("They are made of the first %d loads in a row of which none lies beyond the limits made of them and no step beyond that of the moving range (shaded), and stay as they are.", runchart.Stretch),
		c.t("A red triangle lies beyond a limit. A red diamond ends %d loads in a row on one side of the mean: the run has moved.", runchart.Run),
	}
}
