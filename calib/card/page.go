package card

import (
	"fmt"
	"strings"
)

// Paper is a size of sheet that a printer takes, upright.
type Paper struct {
	Name              string // a4, letter or a3
	WidthMM, HeightMM float64
}

// Papers lists the sizes: ISO 216 A4 and A3, and ANSI letter.
func Papers() []Paper {
	return []Paper{{"a4", 210, 297}, {"letter", 215.9, 279.4}, {"a3", 297, 420}}
}

// PaperNamed finds a size of paper by its name.
func PaperNamed(name string) (Paper, error) {
	var names []string
	for _, p := range Papers() {
		if p.Name == strings.ToLower(name) {
			return p, nil
		}
		names = append(names, p.Name)
	}
	return Paper{}, fmt.Errorf("card: no paper %q: choose from %s", name, strings.Join(names, ", "))
}

// page is a printed page with one sheet on it, mm.
type page struct {
	widthMM, heightMM float64
	shapes            []Shape
}

const (
	checkLineMM = 100
	marginMM    = 15 // of what stands beside the sheet on its page
)

// layOut puts the sheet on a page, turned so that it fits: the card near the top with cut marks, a
// check line and words below, a mat in the middle (it carries its check line itself).
func layOut(s Sheet, p Paper) (page, error) {
	out := page{widthMM: p.WidthMM, heightMM: p.HeightMM}
	fits := func() bool { return s.WidthMM <= out.widthMM && s.HeightMM <= out.heightMM }
	if !fits() {
		out.widthMM, out.heightMM = out.heightMM, out.widthMM
	}
	if !fits() {
		return page{}, fmt.Errorf("card: %s is %g x %g mm and does not fit on %s paper: choose a larger one", s.Name, s.WidthMM, s.HeightMM, p.Name)
	}
	x, y := (out.widthMM-s.WidthMM)/2, (out.heightMM-s.HeightMM)/2
	if !s.HasField() {
		y = 2 * marginMM
	}
	for _, shape := range s.Shapes() {
		shift(shape.Path, x, y)
		out.shapes = append(out.shapes, shape)
	}
	if x > 0 || y > 0 {
		out.shapes = append(out.shapes, cutMarks(x, y, s.WidthMM, s.HeightMM)...)
	}
	if !s.HasField() {
		out.shapes = append(out.shapes, cardPage(out.widthMM/2, y+s.HeightMM+20)...)
	}
	return out, nil
}

// cutMarks draws two short lines outside each corner, in line with the edges to cut.
func cutMarks(x, y, w, h float64) []Shape {
	const length, gap, width = 6, 1.5, 0.2
	var out []Shape
	for _, cx := range []float64{x, x + w} {
		out = append(out, rect(cx-width/2, y-gap-length, width, length, black), rect(cx-width/2, y+h+gap, width, length, black))
	}
	for _, cy := range []float64{y, y + h} {
		out = append(out, rect(x-gap-length, cy-width/2, length, width, black), rect(x+w+gap, cy-width/2, length, width, black))
	}
	return out
}

// checkLine draws a line of 100 mm with ends, from x to the right, at height y.
func checkLine(x, y float64) []Shape {
	const width, end = 0.2, 2
	return []Shape{
		rect(x, y-width/2, checkLineMM, width, black),
		rect(x, y-end/2, width, end, black),
		rect(x+checkLineMM-width, y-end/2, width, end, black),
		text(regular(), "100 mm", x+checkLineMM+2, y+0.8, 2.4, left, black),
	}
}

// cardPage is what stands below the card on its page.
func cardPage(middle, y float64) []Shape {
	out := checkLine(middle-checkLineMM/2, y)
	for i, line := range []string{
		"Print at 100 % (actual size, no fit to page), on matte paper. Cut along the marks.",
		"Then hold a steel rule against the line: it is 100 mm from end to end. If it is not,",
		"print again, or tell the program the length: gristmark calibrate --printed LENGTH",
		"Keep the card flat: glue it to something stiff, without gloss over it.",
	} {
		out = append(out, text(regular(), line, middle, y+10+5.5*float64(i), 3.8, centre, black))
	}
	return out
}
