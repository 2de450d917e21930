package report

import (
	"image"
	"math"

	"git.sr.ht/~sbinet/gg"

	"gristmark/internal/result"
	"gristmark/internal/words"
)

// Overlay is what one marked-up photo shows. Positions are px of the full photo.
type Overlay struct {
	Picture image.Image // the upright photo, or a smaller copy of it
	Photo   result.Photo
	Sample  *result.Sample // nil: nothing was judged
	Photos  int            // measured for the sample
	Marks   []Mark
	Grid    [][]result.XY // lines of the tray plane
	GridMM  float64       // their pitch
	Words   *words.Words  // language and units of the text
}

// Mark is a mark of the ruler.
type Mark struct {
	OutlinePx []result.XY // a single point for a tick or a crossing
	Used      bool        // false: thrown out
}

// canvas draws on the picture; scale leads from px of the full photo to px of the picture.
type canvas struct {
	*gg.Context
	scale  float64
	stroke float64 // width of a plain line, px of the picture
}

// Draw gives the picture with everything drawn in, and a band of text under it.
func (o Overlay) Draw() image.Image {
	size := o.Picture.Bounds().Size()
	band := o.band(size.X)
	dc := gg.NewContext(size.X, size.Y+band.height)
	dc.DrawImage(o.Picture, 0, 0)
	c := canvas{dc, 1, math.Max(1.5, float64(max(size.X, size.Y))/900)}
	if o.Photo.WidthPx > 0 {
		c.scale = float64(size.X) / float64(o.Photo.WidthPx)
	}
	dc.DrawRectangle(0, 0, float64(size.X), float64(size.Y))
	dc.Clip()
	c.drawGrid(o.Grid)
	c.drawField(o.Photo.Field)
	c.drawHatched(hatched(o.Photo))
	c.drawMarks(o.Marks)
	c.drawParticles(o.Photo.Particles)
	c.drawNumbers(o.Photo.Particles, size.X)
	dc.ResetClip()
	band.draw(c, size)
	return dc.Image()
}

func (c canvas) path(line []result.XY) {
	for i, p := range line {
		if i == 0 {
			c.MoveTo(p[0]*c.scale, p[1]*c.scale)
		} else {
			c.LineTo(p[0]*c.scale, p[1]*c.scale)
		}
	}
}

func (c canvas) drawGrid(lines [][]result.XY) {
	c.SetColor(gridColor)
	c.SetLineWidth(c.stroke * 0.7)
	c.SetDash()
	for _, line := range lines {
		c.path(line)
		c.Stroke()
	}
}

func (c canvas) drawField(field []result.XY) {
	if len(field) < 3 {
		return
	}
	c.path(field)
	c.ClosePath()
	c.cased(style{color: fieldColor, width: 1, dash: []float64{8, 6}})
}

func (c canvas) drawParticles(list []result.Particle) {
	for _, p := range list {
		if len(p.OutlinePx) < 3 {
			continue
		}
		c.path(p.OutlinePx)
		c.ClosePath()
		c.cased(styleOf(p))
	}
}

// cased strokes the current path in a style, on a darker and wider line.
func (c canvas) cased(s style) {
	c.SetDash()
	c.SetColor(casing)
	c.SetLineWidth(c.stroke * (s.width + 1))
	c.StrokePreserve()
	dashes := make([]float64, len(s.dash))
	for i, d := range s.dash {
		dashes[i] = d * c.stroke * 1.5
	}
	c.SetDash(dashes...)
	c.SetColor(s.color)
	c.SetLineWidth(c.stroke * s.width)
	c.Stroke()
	c.SetDash()
}

func (c canvas) drawMarks(marks []Mark) {
	for _, m := range marks {
		s := style{color: usedColor, width: 1.2}
		if !m.Used {
			s = style{color: thrownColor, width: 1.6, dash: []float64{3, 2}}
		}
		if len(m.OutlinePx) == 1 {
			c.cross(m.OutlinePx[0], m.Used)
		} else {
			c.path(m.OutlinePx)
			c.ClosePath()
		}
		c.cased(s)
	}
}

// cross is upright for a mark that was used, oblique for one thrown out.
func (c canvas) cross(p result.XY, upright bool) {
	r := 5 * c.stroke
	x, y := p[0]*c.scale, p[1]*c.scale
	if upright {
		c.MoveTo(x-r, y)
		c.LineTo(x+r, y)
		c.MoveTo(x, y-r)
		c.LineTo(x, y+r)
		return
	}
	c.MoveTo(x-r, y-r)
	c.LineTo(x+r, y+r)
	c.MoveTo(x-r, y+r)
	c.LineTo(x+r, y-r)
}

// roundLength is the largest of 1, 2, 5, 10, … not above v.
func roundLength(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, f := range []float64{5, 2} {
		if f*p <= v {
			return f * p
		}
	}
	return p
}
