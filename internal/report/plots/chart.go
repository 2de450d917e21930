package plots

import (
	"bytes"
	"errors"
	"fmt"
	"image/color"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"
)

// ErrNothing is returned where there is nothing to draw.
var ErrNothing = errors.New("plots: there is nothing to draw")

// Okabe and Ito's colours, from memory, and greys.
var (
	blue      = color.RGBA{0x00, 0x72, 0xb2, 0xff}
	vermilion = color.RGBA{0xd5, 0x5e, 0x00, 0xff}
	sky       = color.RGBA{0xb5, 0xdc, 0xf2, 0xff} // sky blue, lightened: pale in grey print beside blue
	band      = color.RGBA{0xec, 0xec, 0xe4, 0xff}
	gridGrey  = color.RGBA{0xdd, 0xdd, 0xdd, 0xff}
	lineGrey  = color.RGBA{0x55, 0x55, 0x55, 0xff}
)

var dashed = []vg.Length{vg.Points(5), vg.Points(3)}

// Chart is a drawing, to be written in any format.
type Chart struct {
	plot          *plot.Plot
	width, height vg.Length
}

func newChart(title, x, y string) Chart {
	p := plot.New()
	p.Title.Text, p.X.Label.Text, p.Y.Label.Text = title, x, y
	p.Title.Padding, p.X.Label.Padding, p.Y.Label.Padding = vg.Points(8), vg.Points(3), vg.Points(3)
	styles := []*text.Style{&p.Title.TextStyle, &p.X.Label.TextStyle, &p.Y.Label.TextStyle, &p.X.Tick.Label, &p.Y.Tick.Label, &p.Legend.TextStyle}
	for i, s := range styles {
		s.Font = sans(10)
		if i == 0 {
			s.Font = sans(12)
		}
	}
	grid := plotter.NewGrid()
	grid.Vertical.Color, grid.Horizontal.Color = gridGrey, gridGrey
	p.Add(grid)
	p.Legend.Top, p.Legend.Padding, p.Legend.XOffs, p.Legend.YOffs = true, vg.Points(2), -vg.Points(6), -vg.Points(2)
	return Chart{p, 17 * vg.Centimeter, 10 * vg.Centimeter}
}

func sans(points float64) font.Font {
	return font.Font{Typeface: "Liberation", Variant: "Sans", Size: vg.Points(points)}
}

// PNG is the chart at so many dots per inch, opaque white behind.
func (c Chart) PNG(dpi int) ([]byte, error) {
	canvas := vgimg.NewWith(vgimg.UseWH(c.width, c.height), vgimg.UseDPI(dpi), vgimg.UseBackgroundColor(color.White))
	c.drawOn(draw.New(canvas))
	var b bytes.Buffer
	if _, err := (vgimg.PngCanvas{Canvas: canvas}).WriteTo(&b); err != nil {
		return nil, fmt.Errorf("plots: the picture cannot be made: %w", err)
	}
	return b.Bytes(), nil
}

// SVG is the chart as a file by itself.
func (c Chart) SVG() ([]byte, error) {
	canvas := vgsvg.New(c.width, c.height)
	c.drawOn(draw.New(canvas))
	var b bytes.Buffer
	if _, err := canvas.WriteTo(&b); err != nil {
		return nil, fmt.Errorf("plots: the drawing cannot be made: %w", err)
	}
	return b.Bytes(), nil
}

// drawOn draws with a margin about.
func (c Chart) drawOn(canvas draw.Canvas) {
	c.plot.Draw(draw.Crop(canvas, vg.Points(4), -vg.Points(10), vg.Points(4), -vg.Points(4)))
}

// InlineSVG is the chart as an element to stand in an HTML page.
func (c Chart) InlineSVG() ([]byte, error) {
	svg, err := c.SVG()
	if err != nil {
		return nil, err
	}
	at := bytes.Index(svg, []byte("<svg"))
	if at < 0 {
		return nil, errors.New("plots: the drawing holds no svg element")
	}
	return svg[at:], nil
}

// upright adds a labelled line at x over the whole height; the label stands at the given share of the height.
func (c Chart) upright(x, top float64, label string, at float64) error {
	line, err := plotter.NewLine(plotter.XYs{{X: x, Y: 0}, {X: x, Y: top}})
	if err != nil {
		return err
	}
	line.Color, line.Dashes, line.Width = vermilion, dashed, vg.Points(1.2)
	c.plot.Add(line)
	return c.write(x, top*at, label, text.XLeft)
}

// write puts words beside a point.
func (c Chart) write(x, y float64, words string, align text.XAlignment) error {
	labels, err := plotter.NewLabels(plotter.XYLabels{XYs: plotter.XYs{{X: x, Y: y}}, Labels: []string{words}})
	if err != nil {
		return err
	}
	labels.TextStyle[0].Font, labels.TextStyle[0].XAlign = sans(9), align
	labels.Offset.X = vg.Points(3)
	if align == text.XRight {
		labels.Offset.X = -vg.Points(3)
	}
	c.plot.Add(labels)
	return nil
}

// block fills a rectangle.
func (c Chart) block(x0, x1, y0, y1 float64, fill color.Color) (*plotter.Polygon, error) {
	p, err := plotter.NewPolygon(plotter.XYs{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}})
	if err != nil {
		return nil, err
	}
	p.Color, p.LineStyle.Width = fill, 0
	c.plot.Add(p)
	return p, nil
}
