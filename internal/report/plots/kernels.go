package plots

import (
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"

	"gristmark/internal/result"
	"gristmark/internal/words"
)

// meshMM is the opening of the square mesh that kernel processing is judged by.
const meshMM = 4.75

// binMM is a fifth of the mesh, so that the mesh is a limit between two bins.
const binMM = meshMM / 5

// kernelBins are the shares of kernel area, %, by width in bins of binMM from 0: of broken and of whole kernels.
func kernelBins(photos []result.Photo) (broken, whole []float64) {
	var sum float64
	add := func(list *[]float64, bin int, area float64) {
		for len(*list) <= bin {
			*list = append(*list, 0)
		}
		(*list)[bin] += area
	}
	counted(photos, func(p result.Particle, weight float64) {
		if p.PKernel() <= 0 {
			return
		}
		bin := int(math.Floor(p.WidthMM / binMM))
		area := weight * p.AreaMM2
		add(&broken, bin, area*p.PBroken)
		add(&whole, bin, area*p.PWhole)
		sum += area * p.PKernel()
	})
	for i := range broken {
		broken[i] *= 100 / sum
		whole[i] *= 100 / sum
	}
	return broken, whole
}

// Kernels draws how the area of the kernel pieces is spread over their width, with a line at 4.75 mm.
func Kernels(say *words.Words, photos []result.Photo) (Chart, error) {
	broken, whole := kernelBins(photos)
	if len(broken) == 0 {
		return Chart{}, ErrNothing
	}
	if most := 21; len(broken) > most { // what is wider is no kernel
		broken, whole = broken[:most], whole[:most]
	}
	c := newChart(say.T("Size of the kernel pieces"), say.T("width of the piece (smallest Feret diameter), %s", say.LengthUnit()), say.T("kernel area, %"))
	top := 0.0
	for i := range broken {
		top = max(top, broken[i]+whole[i])
	}
	top = max(10, top*1.15)
	p := c.plot
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = 0, max(12, binMM*float64(len(broken))), 0, top
	p.X.Tick.Marker = plot.ConstantTicks(lengthTicks(say, p.X.Max, []float64{0, 2, 4, 6, 8, 10, 12, 14, 16, 18, 20}, []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8}))
	p.Y.Tick.Marker = plot.ConstantTicks(evenTicks(say, top))
	for i := range broken {
		if err := c.bar(i, 0, broken[i], blue); err != nil {
			return c, err
		}
		if err := c.bar(i, broken[i], broken[i]+whole[i], sky); err != nil {
			return c, err
		}
	}
	p.Legend.Add(say.T("broken"), swatch{blue})
	p.Legend.Add(say.T("whole"), swatch{sky})
	return c, c.upright(meshMM, top, say.T("4.75 mm mesh"), 0.95)
}

// bar fills a bin from one height to another.
func (c Chart) bar(bin int, from, to float64, fill color.Color) error {
	if to <= from {
		return nil
	}
	b, err := c.block(binMM*float64(bin), binMM*float64(bin+1), from, to, fill)
	if err == nil {
		b.LineStyle.Width, b.LineStyle.Color = vg.Points(0.7), color.White
		if fill == sky {
			b.LineStyle.Color = blue
		}
	}
	return err
}
