// Package paper writes the reports that are printed: a page a sample for the operator, and the season. Both come on A4 or
// Letter, and the same figures give the same bytes.
package paper

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"gristmark/internal/report/plots"
	"gristmark/internal/words"
)

// Sizes are the papers by name.
var Sizes = []string{"a4", "letter"}

const (
	marginMM = 15
	family   = "go"
	mmPerPt  = 25.4 / 72
	leading  = 1.3 // line height over font size
)

// sheet is a document in the making, with what all its pages share.
type sheet struct {
	*fpdf.Fpdf
	width, bottom float64 // of the text, mm; lowest y of the text, mm
	charts        int     // placed so far
	say           *words.Words
}

func newSheet(size, title string, say *words.Words) (*sheet, error) {
	names := map[string]string{"a4": "A4", "letter": "Letter"}
	name, ok := names[strings.ToLower(size)]
	if !ok {
		return nil, fmt.Errorf("paper: there is no size %q; choose %s", size, strings.Join(Sizes, " or "))
	}
	pdf := fpdf.New("P", "mm", name, "")
	pdf.SetCreationDate(time.Unix(0, 0).UTC())
	pdf.SetModificationDate(time.Unix(0, 0).UTC())
	pdf.SetCatalogSort(true)
	pdf.SetTitle(title, true)
	pdf.SetCreator("gristmark", true)
	pdf.SetLang(say.Lang())
	pdf.SetMargins(marginMM, marginMM, marginMM)
	pdf.SetAutoPageBreak(false, marginMM)
	pdf.AddUTF8FontFromBytes(family, "", goregular.TTF)
	pdf.AddUTF8FontFromBytes(family, "B", gobold.TTF)
	w, h := pdf.GetPageSize()
	return &sheet{Fpdf: pdf, width: w - 2*marginMM, bottom: h - marginMM, say: say}, nil
}

// font sets the style ("" or "B"), the size in points and the grey (0 black) of what follows, and returns its line height, mm.
func (s *sheet) font(style string, points float64, grey int) float64 {
	s.SetFont(family, style, points)
	s.SetTextColor(grey, grey, grey)
	return points * mmPerPt * leading
}

// para writes a paragraph from the left margin, breaking lines.
func (s *sheet) para(style string, points float64, grey int, text string) {
	h := s.font(style, points, grey)
	s.SetX(marginMM)
	s.MultiCell(s.width, h, clean(text), "", "L", false)
}

// height is that of a paragraph, mm.
func (s *sheet) height(style string, points, width float64, text string) float64 {
	h := s.font(style, points, 0)
	return h * float64(len(s.SplitText(clean(text), width-2*s.GetCellMargin())))
}

// fit shortens text at its start until it is no wider than width at the font set.
func (s *sheet) fit(text string, width float64) string {
	text = clean(text)
	if s.GetStringWidth(text) <= width {
		return text
	}
	r := []rune(text)
	for len(r) > 1 && s.GetStringWidth("…"+string(r)) > width {
		r = r[1:]
	}
	return "…" + string(r)
}

// clean drops what the library cannot set: it knows the letters of the basic plane only, and no controls.
func clean(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r > 0xffff:
			return '?'
		case r < ' ':
			return ' '
		}
		return r
	}, strings.ToValidUTF8(text, "?"))
}

// picture places a picture of the format (jpg or png) in a box, centred, kept in shape, and returns its height, mm.
func (s *sheet) picture(name, format string, data []byte, x, y, width, height float64) float64 {
	opt := fpdf.ImageOptions{ImageType: format}
	info := s.RegisterImageOptionsReader(name, opt, bytes.NewReader(data))
	if info == nil || s.Err() {
		return 0
	}
	scale := min(width/info.Width(), height/info.Height())
	w, h := info.Width()*scale, info.Height()*scale
	s.ImageOptions(name, x+(width-w)/2, y, w, h, false, opt, 0, "")
	return h
}

// chart places a chart over the width of the text; where there is nothing to draw none. fpdf sorts pictures by their width in
// pixels and leaves those of one width in the order of a map: each chart gets a width of its own, so that the same season is the same file.
func (s *sheet) chart(name string, height float64, draw func() (plots.Chart, error)) error {
	c, err := draw()
	if errors.Is(err, plots.ErrNothing) {
		return nil
	}
	if err != nil {
		return err
	}
	data, err := c.PNG(200 + s.charts)
	s.charts++
	if err != nil {
		return err
	}
	s.SetY(s.GetY() + s.picture(name, "png", data, marginMM, s.GetY(), s.width, height) + 3)
	return nil
}

func (s *sheet) write(w io.Writer) error {
	if err := s.Output(w); err != nil {
		return fmt.Errorf("paper: the PDF cannot be written: %w", err)
	}
	return nil
}
