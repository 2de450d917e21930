package plots

import (
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"gristmark/internal/lab"
	"gristmark/internal/words"
)

// pairs are points with their errors in both directions.
type pairs struct {
	plotter.XYs
	plotter.XErrors
	plotter.YErrors
}

// Laboratory draws the laboratory's score over the photo estimate of the same lots: each pair with a standard deviation either way,
// the fitted line with its 95 % prediction band over the range of the pairs, and the line where both agree.
func Laboratory(say *words.Words, fit *lab.Correction, list []lab.Pair) (Chart, error) {
	if fit == nil || len(list) == 0 {
		return Chart{}, ErrNothing
	}
	c := newChart(say.T("Laboratory and photo estimate: %s", fit.Name), say.T("kernel mass through 4.75 mm, estimated from photos, %"), say.T("processing score of the laboratory, %"))
	c.height = 14 * vg.Centimeter
	p := c.plot
	low, high := 100.0, 0.0
	for _, q := range list {
		low, high = min(low, q.Photo, q.Lab), max(high, q.Photo, q.Lab)
	}
	low, high = max(0, low-10), min(100, high+10)
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = low, high, low, high
	marks := plot.ConstantTicks(ticksFrom(say, low, high))
	p.X.Tick.Marker, p.Y.Tick.Marker = marks, marks
	if err := c.fitted(say, fit); err != nil {
		return c, err
	}
	if err := c.agreement(say, low, high); err != nil {
		return c, err
	}
	p.Legend.Top, p.Legend.Left, p.Legend.XOffs = true, true, vg.Points(6)
	return c, c.pairs(say, list)
}

// fitted adds the prediction band and the line.
func (c Chart) fitted(say *words.Words, fit *lab.Correction) error {
	const steps = 40
	var line, up, down plotter.XYs
	for i := 0; i <= steps; i++ {
		x := fit.LowPct + (fit.HiPct-fit.LowPct)*float64(i)/steps
		e := fit.Predict(x, fit.PhotoSD)
		line = append(line, plotter.XY{X: x, Y: e.Value})
		up = append(up, plotter.XY{X: x, Y: e.High})
		down = append(plotter.XYs{{X: x, Y: e.Low}}, down...)
	}
	area, err := plotter.NewPolygon(append(up, down...))
	if err != nil {
		return err
	}
	area.Color, area.LineStyle.Width = band, 0
	c.plot.Add(area)
	l, err := plotter.NewLine(line)
	if err != nil {
		return err
	}
	l.Color, l.Width = blue, vg.Points(2)
	c.plot.Add(l)
	c.plot.Legend.Add(say.T("fitted line (York et al. 2004)"), l)
	c.plot.Legend.Add(say.T("95 % of laboratory scores"), area)
	return nil
}

// agreement adds the line where photo and laboratory say the same.
func (c Chart) agreement(say *words.Words, low, high float64) error {
	l, err := plotter.NewLine(plotter.XYs{{X: low, Y: low}, {X: high, Y: high}})
	if err != nil {
		return err
	}
	l.Color, l.Dashes, l.Width = lineGrey, dashed, vg.Points(1)
	c.plot.Add(l)
	c.plot.Legend.Add(say.T("both the same"), l)
	return nil
}

// pairs adds the points with a standard deviation either way, the assumed one where the table gives none.
func (c Chart) pairs(say *words.Words, list []lab.Pair) error {
	var all pairs
	for _, q := range list {
		sx, sy := q.PhotoSD, q.LabSD
		if sx == 0 {
			sx = lab.DefaultPhotoSD
		}
		if sy == 0 {
			sy = lab.DefaultLabSD
		}
		all.XYs = append(all.XYs, plotter.XY{X: q.Photo, Y: q.Lab})
		all.XErrors = append(all.XErrors, struct{ Low, High float64 }{sx, sx})
		all.YErrors = append(all.YErrors, struct{ Low, High float64 }{sy, sy})
	}
	across, err := plotter.NewXErrorBars(all)
	if err != nil {
		return err
	}
	along, err := plotter.NewYErrorBars(all)
	if err != nil {
		return err
	}
	across.Color, across.Width, across.CapWidth = lineGrey, vg.Points(0.8), vg.Points(4)
	along.Color, along.Width, along.CapWidth = lineGrey, vg.Points(0.8), vg.Points(4)
	c.plot.Add(across, along)
	return c.dots(all.XYs, say.T("pair, one standard deviation"), draw.CircleGlyph{}, vermilion, 3)
}
