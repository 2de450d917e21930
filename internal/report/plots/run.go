package plots

import (
	"image/color"
	"math"
	"unicode/utf8"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"gristmark/internal/result"
	"gristmark/internal/stats"
	"gristmark/internal/words"
)

// fewSamples is how many samples control limits want at least (common practice); with fewer they are called provisional.
const fewSamples = 8

// Series is one figure over the samples, in the order that they were taken.
type Series struct {
	Title  string
	Y      string // what the figure is, with its unit
	Names  []string
	Values []*result.Estimate // parallel to Names; nil where the sample has none
	Target *float64           // line to stay above; nil for none
	Most   float64            // the highest value that there can be, as 100 for a percentage; 0 for no bound
}

// Out tells of each sample whether its figure lies beyond the control limits of the series.
func (s Series) Out() []bool {
	limits := stats.IndividualsLimits(s.values())
	slack := 1e-9 * math.Abs(limits.Centre) // equal values have equal limits, but for rounding
	out := make([]bool, len(s.Values))
	for i, e := range s.Values {
		out[i] = e != nil && (e.Value < limits.Low-slack || e.Value > limits.High+slack)
	}
	return out
}

func (s Series) values() []float64 {
	var x []float64
	for _, e := range s.Values {
		if e != nil {
			x = append(x, e.Value)
		}
	}
	return x
}

// Run draws the run chart: each sample with its interval, the mean, three-sigma control limits from the moving range,
// and the target. A value beyond the limits is a filled triangle.
func Run(say *words.Words, s Series) (Chart, error) {
	values := s.values()
	if len(values) == 0 {
		return Chart{}, ErrNothing
	}
	c := newChart(s.Title, say.T("sample, in the order taken"), s.Y)
	p := c.plot
	p.X.Min, p.X.Max = 0.4, float64(len(s.Values))+0.6
	p.X.Tick.Marker = nameTicks(s.Names)
	if len(s.Names) > 6 {
		p.X.Tick.Label.Rotation, p.X.Tick.Label.XAlign, p.X.Tick.Label.YAlign = math.Pi/4, text.XRight, text.YCenter
	}
	c.height += 2 * vg.Centimeter // for the legend
	if err := c.levels(say, s, values); err != nil {
		return c, err
	}
	if err := c.samples(say, s); err != nil {
		return c, err
	}
	low, high := p.Y.Min, p.Y.Max
	p.Y.Tick.Marker = numberTicks{say}
	p.Y.Min, p.Y.Max = math.Max(0, low-0.06*(high-low)), high+0.06*(high-low)
	if s.Most == 100 {
		p.Y.Tick.Marker = plot.ConstantTicks(ticks(say, 100, 0, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100))
	}
	p.Y.Max += 0.3 * (p.Y.Max - p.Y.Min) // room for the legend
	return c, nil
}

// levels adds the mean, the control limits and the target.
func (c Chart) levels(say *words.Words, s Series, values []float64) error {
	limits := stats.IndividualsLimits(values)
	name := say.T("control limits")
	if len(values) < fewSamples {
		name = say.T("control limits, provisional")
	}
	if len(values) > 1 {
		if err := c.level(limits.Centre, say.T("mean"), lineGrey, nil, 1.2); err != nil {
			return err
		}
		if s.Most > 0 {
			limits.High = min(limits.High, s.Most)
		}
		if err := c.level(limits.High, name, lineGrey, dashed, 1); err != nil {
			return err
		}
		if err := c.level(max(0, limits.Low), "", lineGrey, dashed, 1); err != nil {
			return err
		}
	}
	if s.Target != nil {
		return c.level(*s.Target, say.T("target, at least %s", say.Trimmed(*s.Target, 2)), vermilion, []vg.Length{vg.Points(1.5), vg.Points(2.5)}, 2)
	}
	return nil
}

func (c Chart) level(y float64, name string, colour color.Color, dashes []vg.Length, width float64) error {
	line, err := plotter.NewLine(plotter.XYs{{X: c.plot.X.Min, Y: y}, {X: c.plot.X.Max, Y: y}})
	if err != nil {
		return err
	}
	line.Color, line.Dashes, line.Width = colour, dashes, vg.Points(width)
	c.plot.Add(line)
	if name != "" {
		c.plot.Legend.Add(name, line)
	}
	return nil
}

// bars are points with intervals.
type bars struct {
	plotter.XYs
	plotter.YErrors
}

// samples adds the points, those beyond the limits with another shape.
func (c Chart) samples(say *words.Words, s Series) error {
	out := s.Out()
	var all bars
	var within, beyond plotter.XYs
	for i, e := range s.Values {
		if e == nil {
			continue
		}
		at := plotter.XY{X: float64(i + 1), Y: e.Value}
		all.XYs = append(all.XYs, at)
		all.YErrors = append(all.YErrors, struct{ Low, High float64 }{e.Value - e.Low, e.High - e.Value})
		if out[i] {
			beyond = append(beyond, at)
		} else {
			within = append(within, at)
		}
	}
	intervals, err := plotter.NewYErrorBars(all)
	if err != nil {
		return err
	}
	intervals.Color, intervals.Width, intervals.CapWidth = blue, vg.Points(0.8), vg.Points(4)
	radius := 3.0
	if len(s.Values) > 60 { // the dots would hide each other
		intervals.Color, intervals.Width, intervals.CapWidth, radius = sky, vg.Points(0.6), 0, 1.6
	}
	c.plot.Add(intervals)
	if err := c.dots(within, say.T("sample, 95 % interval"), draw.CircleGlyph{}, blue, radius); err != nil {
		return err
	}
	return c.dots(beyond, say.T("beyond the limits"), draw.PyramidGlyph{}, vermilion, 5)
}

func (c Chart) dots(xy plotter.XYs, name string, shape draw.GlyphDrawer, colour color.Color, radius float64) error {
	if len(xy) == 0 {
		return nil
	}
	s, err := plotter.NewScatter(xy)
	if err != nil {
		return err
	}
	s.GlyphStyle = draw.GlyphStyle{Color: colour, Radius: vg.Points(radius), Shape: shape}
	c.plot.Add(s)
	c.plot.Legend.Add(name, s)
	return nil
}

// nameTicks labels at most about 20 samples by the end of their names.
func nameTicks(names []string) plot.ConstantTicks {
	every := (len(names) + 19) / 20
	var out plot.ConstantTicks
	for i, name := range names {
		if i%max(1, every) != 0 {
			continue
		}
		if n := utf8.RuneCountInString(name); n > 14 {
			name = "…" + string([]rune(name)[n-13:])
		}
		out = append(out, plot.Tick{Value: float64(i + 1), Label: name})
	}
	return out
}
