package card

import "image/color"

// Op is the kind of a path segment.
type Op uint8

// The kinds of segments; a contour starts with Move and is closed by the next Move or the end.
const (
	Move Op = iota
	Line
	Quad // quadratic curve: control point, then end point
)

// Segment is a step of a path; positions in mm on the sheet. CX, CY is the control point of a Quad.
type Segment struct {
	Op           Op
	CX, CY, X, Y float64
}

// Shape is an area filled with one colour, bounded by closed contours (non-zero winding).
type Shape struct {
	Fill color.NRGBA
	Path []Segment
}

// The inks.
var (
	paper = color.NRGBA{255, 255, 255, 255}
	black = color.NRGBA{0, 0, 0, 255}
)

func rect(x, y, w, h float64, fill color.NRGBA) Shape {
	return Shape{fill, []Segment{
		{Op: Move, X: x, Y: y}, {Op: Line, X: x + w, Y: y},
		{Op: Line, X: x + w, Y: y + h}, {Op: Line, X: x, Y: y + h},
	}}
}

// shapes draws the marker: one black square, then its white cells, runs in a row joined so that no
// hairline shows between neighbours.
func (m Marker) shapes() []Shape {
	cell := m.CellMM()
	out := []Shape{rect(m.X, m.Y, m.SizeMM, m.SizeMM, black)}
	white := Shape{Fill: paper}
	for row := range markerCells + 2 {
		for col := 0; col < markerCells+2; col++ {
			start := col
			for markerCell(m.ID, row, col) {
				col++
			}
			if col > start {
				r := rect(m.X+float64(start)*cell, m.Y+float64(row)*cell, float64(col-start)*cell, cell, paper)
				white.Path = append(white.Path, r.Path...)
			}
		}
	}
	return append(out, white)
}

// Shapes lists everything that is drawn on the sheet, back to front.
func (s Sheet) Shapes() []Shape {
	out := []Shape{rect(0, 0, s.WidthMM, s.HeightMM, paper)}
	if s.details != nil {
		out = append(out, s.details(s)...)
	}
	for _, m := range s.Markers {
		out = append(out, m.shapes()...)
	}
	return out
}
