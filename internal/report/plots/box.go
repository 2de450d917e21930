package plots

import (
	"cmp"
	"image/color"
	"math"
	"slices"
	"unicode/utf8"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"gristmark/internal/words"
)

// Group is the figures of the samples that share a field, a hybrid or a setting.
type Group struct {
	Name   string
	Values []float64 // in any order, at least one
}

// Groups is one figure over groups of samples.
type Groups struct {
	ID     string // in the names of files
	Title  string
	X      string // what the groups are, with its unit
	Y      string // what the figure is, with its unit
	Groups []Group
	Target *float64 // line to stay above; nil for none
	Most   float64  // the highest value that there can be; 0 for no bound
}

// fewForBox is how many values a box needs: of fewer, quartiles say nothing and the values are drawn alone.
const fewForBox = 5

// Box draws a box plot: median, quartiles, and whiskers to the last value within 1.5 times the box (Tukey 1977), with every value
// as a dot. Groups of fewer than five values are dots with their median alone. Under each name stands the number of samples.
func Box(say *words.Words, g Groups) (Chart, error) {
	var groups []Group
	for _, one := range g.Groups {
		if len(one.Values) > 0 {
			groups = append(groups, one)
		}
	}
	if len(groups) == 0 {
		return Chart{}, ErrNothing
	}
	c := newChart(g.Title, g.X, g.Y)
	p := c.plot
	p.X.Min, p.X.Max = 0.4, float64(len(groups))+0.6
	p.X.Tick.Marker = groupTicks(say, groups)
	p.Y.Tick.Marker = numberTicks{say}
	if len(groups) > 6 {
		p.X.Tick.Label.Rotation, p.X.Tick.Label.XAlign, p.X.Tick.Label.YAlign = math.Pi/4, text.XRight, text.YCenter
	}
	for i, one := range groups {
		if err := c.group(float64(i+1), one.Values); err != nil {
			return c, err
		}
	}
	low, high := valueRange(groups)
	pad := max(0.08*(high-low), 1e-3+0.02*math.Abs(high))
	p.Y.Min, p.Y.Max = max(0, low-pad), high+pad
	if g.Target != nil {
		p.Y.Min, p.Y.Max = min(p.Y.Min, *g.Target-pad), max(p.Y.Max, *g.Target+pad)
		name := say.T("target, at least %s", say.Trimmed(*g.Target, 2))
		if err := c.level(*g.Target, name, vermilion, []vg.Length{vg.Points(1.5), vg.Points(2.5)}, 2); err != nil {
			return c, err
		}
		p.Y.Max += 0.15 * (p.Y.Max - p.Y.Min) // room for the legend
	}
	if g.Most == 100 && p.Y.Max-p.Y.Min > 50 {
		p.Y.Tick.Marker = plot.ConstantTicks(ticks(say, 100, 0, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100))
	}
	return c, nil
}

// group draws one group at x: a box where there are enough values, and the values.
func (c Chart) group(x float64, values []float64) error {
	sorted := slices.Sorted(slices.Values(values))
	if len(sorted) >= fewForBox {
		b, err := plotter.NewBoxPlot(vg.Points(34), x, plotter.Values(sorted))
		if err != nil {
			return err
		}
		b.FillColor, b.BoxStyle.Color, b.BoxStyle.Width = sky, blue, vg.Points(1)
		b.MedianStyle.Color, b.MedianStyle.Width = blue, vg.Points(2.5)
		b.WhiskerStyle.Color, b.WhiskerStyle.Dashes, b.WhiskerStyle.Width = blue, nil, vg.Points(1)
		b.GlyphStyle.Radius = 0 // the dots show what lies outside
		c.plot.Add(b)
	} else if err := c.medianMark(x, sorted); err != nil {
		return err
	}
	return c.scatter(beside(x, sorted), draw.RingGlyph{}, lineGrey, 2.4)
}

// medianMark is the median alone, as wide as a box.
func (c Chart) medianMark(x float64, sorted []float64) error {
	m := (sorted[(len(sorted)-1)/2] + sorted[len(sorted)/2]) / 2
	line, err := plotter.NewLine(plotter.XYs{{X: x - 0.12, Y: m}, {X: x + 0.12, Y: m}})
	if err != nil {
		return err
	}
	line.Color, line.Width = blue, vg.Points(2.5)
	c.plot.Add(line)
	return nil
}

func (c Chart) scatter(xy plotter.XYs, shape draw.GlyphDrawer, colour color.Color, radius float64) error {
	s, err := plotter.NewScatter(xy)
	if err != nil {
		return err
	}
	s.GlyphStyle = draw.GlyphStyle{Color: colour, Radius: vg.Points(radius), Shape: shape}
	c.plot.Add(s)
	return nil
}

// beside sets the dots of one group side by side in turn, so that equal values do not hide each other.
func beside(x float64, sorted []float64) plotter.XYs {
	var out plotter.XYs
	for i, v := range sorted {
		out = append(out, plotter.XY{X: x + 0.05*float64(i%3-1), Y: v})
	}
	return out
}

func valueRange(groups []Group) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, g := range groups {
		for _, v := range g.Values {
			low, high = min(low, v), max(high, v)
		}
	}
	return low, high
}

// groupTicks are the names with the number of samples.
func groupTicks(say *words.Words, groups []Group) plot.ConstantTicks {
	most := 24
	if len(groups) > 4 {
		most = 14
	}
	var out plot.ConstantTicks
	for i, g := range groups {
		name := cmp.Or(g.Name, say.T("not told"))
		if utf8.RuneCountInString(name) > most {
			name = string([]rune(name)[:most-1]) + "…"
		}
		out = append(out, plot.Tick{Value: float64(i + 1), Label: say.T("%s (n %d)", name, len(g.Values))})
	}
	return out
}
