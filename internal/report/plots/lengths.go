package plots

import (
	"cmp"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"

	"gristmark/internal/result"
	"gristmark/internal/words"
)

// Range is a target in mm, Low < High.
type Range struct{ Low, High float64 }

// boxLines are the limits of the length classes, mm.
var boxLines = []float64{4, 8, 19}

// point of a cumulative curve: so much, %, is not longer than so many mm.
type point struct{ mm, pct float64 }

// lengthCurve is the cumulative share of stover area by length, each piece with its probability of being stover.
func lengthCurve(photos []result.Photo) []point {
	var list []point
	var sum float64
	counted(photos, func(p result.Particle, weight float64) {
		if area := weight * p.AreaMM2 * p.PStover; area > 0 {
			list = append(list, point{p.LengthMM, area})
			sum += area
		}
	})
	slices.SortFunc(list, func(a, b point) int { return cmp.Or(cmp.Compare(a.mm, b.mm), cmp.Compare(a.pct, b.pct)) })
	var run float64
	for i := range list {
		run += list[i].pct
		list[i].pct = 100 * run / sum
	}
	return list
}

// Lengths draws the cumulative length curve of the stover in the photos of one sample with lines at 4, 8 and 19 mm; target
// is where the mean length should lie, nil where that is not known.
func Lengths(say *words.Words, photos []result.Photo, target *Range) (Chart, error) {
	curve := lengthCurve(photos)
	if len(curve) == 0 {
		return Chart{}, ErrNothing
	}
	c := newChart(say.T("Length of the stover"), say.T("length along the piece, %s (logarithmic)", say.LengthUnit()), say.T("stover area in pieces up to this length, %"))
	longest := max(40, curve[len(curve)-1].mm*1.1)
	p := c.plot
	p.X.Scale, p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = plot.LogScale{}, 1, longest, 0, 100
	p.X.Tick.Marker = plot.ConstantTicks(lengthTicks(say, longest, []float64{1, 2, 4, 8, 19, 40, 80, 160}, []float64{0.05, 0.1, 0.2, 0.5, 1, 2, 4}))
	p.Y.Tick.Marker = plot.ConstantTicks(ticks(say, 100, 0, 20, 40, 60, 80, 100))
	p.Legend.Left, p.Legend.XOffs, p.Legend.YOffs = true, vg.Points(6), -vg.Points(20)
	if target != nil && target.Low >= 1 && target.High <= longest {
		area, err := c.block(target.Low, target.High, 0, 100, band)
		if err != nil {
			return c, err
		}
		p.Legend.Add(say.T("target, mean length"), area)
	}
	for _, mm := range boxLines {
		if err := c.upright(mm, 100, say.Limit(mm)+" "+say.LengthUnit(), 0.95); err != nil {
			return c, err
		}
	}
	line, err := plotter.NewLine(steps(curve, longest))
	if err != nil {
		return c, err
	}
	line.Color, line.Width = blue, vg.Points(2)
	p.Add(line)
	p.Legend.Add(say.T("this sample"), line)
	return c, nil
}

// steps draws the curve as the stairs that it is, within the axis.
func steps(curve []point, longest float64) plotter.XYs {
	xy := plotter.XYs{{X: 1, Y: 0}}
	last := 0.0
	for _, q := range curve {
		x := max(1, q.mm)
		xy = append(xy, plotter.XY{X: x, Y: last}, plotter.XY{X: x, Y: q.pct})
		last = q.pct
	}
	return append(xy, plotter.XY{X: longest, Y: last})
}
