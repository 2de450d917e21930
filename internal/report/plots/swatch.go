package plots

import (
	"image/color"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// swatch is a filled box in a legend.
type swatch struct{ fill color.Color }

// Thumbnail draws the box.
func (s swatch) Thumbnail(c *draw.Canvas) {
	points := []vg.Point{{X: c.Min.X, Y: c.Min.Y}, {X: c.Min.X, Y: c.Max.Y}, {X: c.Max.X, Y: c.Max.Y}, {X: c.Max.X, Y: c.Min.Y}}
	c.FillPolygon(s.fill, points)
	c.StrokeLines(draw.LineStyle{Color: blue, Width: vg.Points(0.7)}, append(points, points[0]))
}
