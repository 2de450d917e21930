package sieve

import (
	"errors"
	"fmt"
	"image/color"
	"io"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"gristmark/internal/words"
)

// Band is the target range of the undersize, %, at one opening, mm.
type Band struct{ OpeningMM, LowPct, HighPct float64 }

// leastPct is the lowest undersize drawn: a logarithmic axis has no zero.
const leastPct = 1.0

// Plot draws the cumulative undersize on logarithmic axes with the target band and the least-squares fit, as "png" or
// "svg", to w.
func (r *Report) Plot(w io.Writer, format, title string, band []Band, say *words.Words) error {
	p := plot.New()
	p.Title.Text = title
	p.X.Label.Text, p.Y.Label.Text = say.T("sieve opening, %s", say.LengthUnit()), say.T("mass finer, %")
	p.X.Scale, p.Y.Scale = plot.LogScale{}, plot.LogScale{}
	points := r.undersizePoints()
	if len(points) == 0 {
		return errors.New("sieve: no undersize of 1 % or more to draw")
	}
	low, high := openingRange(r.Fractions)
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = low/1.5, high*1.5, leastPct, 100
	p.X.Tick.Marker = openingTicks(r.Fractions, say)
	p.Y.Tick.Marker = plot.ConstantTicks(percentTicks())
	if err := addBand(p, band, say); err != nil {
		return err
	}
	p.Add(plotter.NewGrid())
	if err := r.addFit(p, low/1.5, high*1.5, say); err != nil {
		return err
	}
	line, dots, err := plotter.NewLinePoints(points)
	if err != nil {
		return err
	}
	line.Width, line.Color = vg.Points(1.8), color.RGBA{R: 20, G: 60, B: 130, A: 255}
	dots.Shape, dots.Radius, dots.Color = draw.CircleGlyph{}, vg.Points(3.5), line.Color
	p.Add(line, dots)
	p.Legend.Add(say.T("weighed"), line, dots)
	p.Legend.XOffs, p.Legend.YOffs, p.Legend.Padding = -vg.Points(8), vg.Points(8), vg.Points(3)
	p.Title.Padding = vg.Points(6)
	c, err := p.WriterTo(16*vg.Centimeter, 11*vg.Centimeter, format)
	if err != nil {
		return fmt.Errorf("sieve: the plot cannot be drawn: %w", err)
	}
	_, err = c.WriteTo(w)
	return err
}

func (r *Report) undersizePoints() plotter.XYs {
	var xy plotter.XYs
	for _, f := range r.Fractions {
		if f.OpeningMM != nil && *f.UndersizePct >= leastPct {
			xy = append(xy, plotter.XY{X: *f.OpeningMM, Y: *f.UndersizePct})
		}
	}
	return xy
}

func openingRange(fractions []FractionReport) (low, high float64) {
	low, high = math.Inf(1), 0
	for _, f := range fractions {
		if f.OpeningMM != nil {
			low, high = min(low, *f.OpeningMM), max(high, *f.OpeningMM)
		}
	}
	return low, high
}

func openingTicks(fractions []FractionReport, say *words.Words) plot.ConstantTicks {
	var t plot.ConstantTicks
	last := math.Inf(1)
	for _, f := range fractions {
		if f.OpeningMM == nil {
			continue
		}
		label := ""
		if last / *f.OpeningMM > 1.25 { // labels closer than that would overlap
			label, last = say.Limit(*f.OpeningMM), *f.OpeningMM
		}
		t = append(t, plot.Tick{Value: *f.OpeningMM, Label: label})
	}
	return t
}

func percentTicks() []plot.Tick {
	var t []plot.Tick
	for _, v := range []float64{1, 2, 5, 10, 20, 50, 100} {
		t = append(t, plot.Tick{Value: v, Label: fmt.Sprintf("%g", v)})
	}
	return t
}

func addBand(p *plot.Plot, band []Band, say *words.Words) error {
	if len(band) == 0 {
		return nil
	}
	fill := color.RGBA{R: 205, G: 228, B: 190, A: 255}
	var xy plotter.XYs
	for _, b := range band {
		xy = append(xy, plotter.XY{X: b.OpeningMM, Y: max(leastPct, b.LowPct)})
	}
	for i := len(band) - 1; i >= 0; i-- {
		xy = append(xy, plotter.XY{X: band[i].OpeningMM, Y: max(leastPct, band[i].HighPct)})
	}
	poly, err := plotter.NewPolygon(xy)
	if err != nil {
		return fmt.Errorf("sieve: the target band cannot be drawn: %w", err)
	}
	poly.Color, poly.LineStyle.Width = fill, 0
	p.Add(poly)
	p.Legend.Add(say.T("target"), poly)
	return nil
}

// addFit draws the least-squares fit.
func (r *Report) addFit(p *plot.Plot, low, high float64, say *words.Words) error {
	if len(r.RosinRammler) < 2 {
		return nil
	}
	fit := r.RosinRammler[1]
	var xy plotter.XYs
	const steps = 80
	for i := 0; i <= steps; i++ {
		x := low * math.Pow(high/low, float64(i)/steps)
		if y := 100 * (1 - fit.Retained(x)); y >= leastPct {
			xy = append(xy, plotter.XY{X: x, Y: y})
		}
	}
	if len(xy) < 2 {
		return nil
	}
	line, err := plotter.NewLine(xy)
	if err != nil {
		return fmt.Errorf("sieve: the fit cannot be drawn: %w", err)
	}
	line.Color, line.Dashes = color.Gray{Y: 110}, []vg.Length{vg.Points(4), vg.Points(3)}
	p.Add(line)
	p.Legend.Add(say.T("Rosin-Rammler, least squares"), line)
	return nil
}
