package card

import (
	"image/color"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// align says which part of a line of text stands at the given position.
type align float64

const (
	left   align = 0
	centre align = 0.5
	right  align = 1
)

var (
	regular = sync.OnceValue(func() *sfnt.Font { return mustParse(goregular.TTF) })
	bold    = sync.OnceValue(func() *sfnt.Font { return mustParse(gobold.TTF) })
)

// mustParse panics on a broken font: the fonts are compiled in.
func mustParse(ttf []byte) *sfnt.Font {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		panic("card: embedded font: " + err.Error())
	}
	return f
}

// text turns a line into outlines. size is the height of an em in mm, x, y the baseline's position.
func text(f *sfnt.Font, line string, x, y, size float64, a align, fill color.NRGBA) Shape {
	var buf sfnt.Buffer
	em := fixed.Int26_6(f.UnitsPerEm()) // one font unit is 1/64 of the drawing unit
	mm := size / float64(em)
	width := 0.0
	shape := Shape{Fill: fill}
	for _, r := range line {
		g, err := f.GlyphIndex(&buf, r)
		if err != nil {
			continue
		}
		segments, err := f.LoadGlyph(&buf, g, em, nil)
		if err == nil {
			shape.Path = append(shape.Path, glyph(segments, width, mm)...)
		}
		if advance, err := f.GlyphAdvance(&buf, g, em, font.HintingNone); err == nil {
			width += float64(advance) * mm
		}
	}
	shift(shape.Path, x-float64(a)*width, y)
	return shape
}

// glyph scales a glyph's segments to mm, dx to the right.
func glyph(segments sfnt.Segments, dx, mm float64) []Segment {
	out := make([]Segment, 0, len(segments))
	for _, s := range segments {
		at := func(i int) (float64, float64) {
			return dx + float64(s.Args[i].X)*mm, float64(s.Args[i].Y) * mm
		}
		var t Segment
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			t.Op = Move
			t.X, t.Y = at(0)
		case sfnt.SegmentOpLineTo:
			t.Op = Line
			t.X, t.Y = at(0)
		default: // the fonts are TrueType: quadratic curves only
			t.Op = Quad
			t.CX, t.CY = at(0)
			t.X, t.Y = at(1)
		}
		out = append(out, t)
	}
	return out
}

func shift(path []Segment, dx, dy float64) {
	for i := range path {
		path[i].CX += dx
		path[i].CY += dy
		path[i].X += dx
		path[i].Y += dy
	}
}
