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

// watch says how the run stands under the settings in force, and raises an alert where its last loads drift.
func (c *call) watch(b *harvestBody, r run, chart runchart.Chart, loads []harvest.Load) string {
	phases := chart.Phases()
	p := phases[len(phases)-1]
	if !p.OK {
		if len(phases) > 1 {
			return c.t("No limits since the machine was set anew before %s: they take %d steady loads in a row, there are %d.", loads[p.From].Name, runchart.Stretch, p.To-p.From)
		}
		return c.t("No limits yet: they take %d steady loads in a row, there are %d loads.", runchart.Stretch, p.To-p.From)
	}
	if p.Kinds[len(p.Kinds)-1] != runchart.Fine {
		b.Alerts = append(b.Alerts, c.alert(r, chart, loads, p))
	}
	return c.t("Limits %s to %s %s, made of %s to %s.", c.figure(max(0, p.Limits.Low)), c.figure(p.Limits.High), r.unit, loads[p.Limits.From].Name, loads[p.Limits.To-1].Name)
}

func (c *call) alert(r run, chart runchart.Chart, loads []harvest.Load, p runchart.Phase) alertView {
	last := p.To - 1
	value := chart.Points[last].Value
	way := c.t("above")
	if value < p.Limits.Centre {
		way = c.t("below")
	}
	a := alertView{Head: c.t("%s: it drifts", r.title)}
	switch p.Kinds[last-p.From] {
	case runchart.Beyond:
		a.Text = c.t("%s, with %s %s, lies %s what the run's own scatter explains (%s to %s).", loads[last].Name, c.figure(value), r.unit, way, c.figure(max(0, p.Limits.Low)), c.figure(p.Limits.High))
	case runchart.Near:
		a.Text = c.t("%s, with %s %s, and another of the last three lie far %s the mean, %s %s.", loads[last].Name, c.figure(value), r.unit, way, c.figure(p.Limits.Centre), r.unit)
	default:
		a.Text = c.t("At least the last %d loads all lie %s the mean of the steady stretch, %s %s.", runchart.Run, way, c.figure(p.Limits.Centre), r.unit)
	}
	a.Text += " " + c.t("Nothing was set anew on the machine since %s: look at knives, rolls and the crop.", loads[p.From].Name)
	return a
}

// rules are how the charts are read.
func (c *call) rules() []string {
	return []string{
		c.t("Each point is a load with its 95 % interval; a click opens it. The green band is the target. A dotted upright line marks a change of the machine's settings."),
		c.t("The limits (dashed) are three standard deviations about the mean, from the mean step between neighbouring loads over 1.128 (chart of individuals and moving range, Shewhart; ISO 7870-2)."),
		c.t("They are made of the first %d loads in a row of which none lies beyond the limits made of them and no step beyond that of the moving range (shaded), and stay as they are. A change of the machine's settings starts anew: what was meant to change is no drift.", runchart.Stretch),
		c.t("A red triangle lies beyond a limit. A red diamond ends %d loads in a row on one side of the mean, or is the second of three beyond two standard deviations on one side: the run has moved.", runchart.Run),
	}
}
