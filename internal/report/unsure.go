package report

import (
	"fmt"
	"math"

	"gristmark/internal/result"
)

// drawNumbers writes the number of each piece without a class beside it, so that a person can name it.
func (c canvas) drawNumbers(list []result.Particle, widthPx int) {
	size := math.Max(9, fontSize(widthPx)*0.55)
	c.SetFontFace(face(boldFont, size))
	for _, p := range list {
		if p.Class != result.Unsure || len(p.OutlinePx) < 3 {
			continue
		}
		text := fmt.Sprint(p.ID)
		w, _ := c.MeasureString(text)
		x, y := c.beside(p.OutlinePx, w, size)
		c.SetColor(casing)
		c.DrawRoundedRectangle(x-size*0.2, y-size*0.85, w+size*0.4, size*1.05, size*0.2)
		c.Fill()
		c.SetColor(styleOf(result.Particle{Class: result.Unsure}).color)
		c.DrawString(text, x, y)
	}
}

// beside is where text of the given width begins, right of the outline's middle or, at the picture's edge, left of it.
func (c canvas) beside(outline []result.XY, width, size float64) (x, y float64) {
	left, right, middle := math.Inf(1), math.Inf(-1), 0.0
	for _, p := range outline {
		left, right = math.Min(left, p[0]*c.scale), math.Max(right, p[0]*c.scale)
		middle += p[1] * c.scale / float64(len(outline))
	}
	x = right + size*0.4
	if x+width > float64(c.Width()) {
		x = left - size*0.4 - width
	}
	return x, middle + size*0.35
}
