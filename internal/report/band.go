package report

import (
	"fmt"
	"image"
	"image/color"

	"git.sr.ht/~sbinet/gg"
	"golang.org/x/image/font/opentype"

	"gristmark/internal/result"
)

// band is the text under the picture: verdict first, then numbers, then the legend with counts.
type band struct {
	font   float64
	height int
	lines  []bandLine
	legend [][]legendEntry // rows
	bar    scaleBar
}

// scaleBar is a bar of round length in the scale of the picture's centre.
type scaleBar struct {
	px   float64
	text string
}

type bandLine struct {
	text  string
	bold  bool
	color color.NRGBA
}

type legendEntry struct {
	style style
	text  string
	width float64 // with its line sample, px
}

const lineSpacing = 1.32

// band lays the text out for a picture of the given width.
func (o Overlay) band(widthPx int) band {
	b := band{font: fontSize(widthPx), bar: o.scaleBar(widthPx)}
	measure := gg.NewContext(1, 1)
	room := float64(widthPx) - 2*b.font*0.6
	for _, l := range o.bandText() {
		measure.SetFontFace(face(fontFor(l.bold), b.font))
		fits := func(line string) bool { w, _ := measure.MeasureString(line); return w <= room }
		for _, part := range wrapBy(l.text, fits) {
			b.lines = append(b.lines, bandLine{part, l.bold, l.color})
		}
	}
	measure.SetFontFace(face(plainFont, b.font*0.85))
	b.legend = flow(o.legend(), room, func(e legendEntry) float64 {
		w, _ := measure.MeasureString(e.text)
		return w + b.font*3.6
	})
	rows := float64(len(b.lines) + len(b.legend))
	if b.bar.px > 0 {
		rows++
	}
	b.height = int(b.font * (rows*lineSpacing + 1.1))
	return b
}

// scaleBar takes about a quarter of the width; none without a scale.
func (o Overlay) scaleBar(widthPx int) scaleBar {
	if o.Photo.Scale == nil || o.Photo.WidthPx == 0 || !(o.Photo.Scale.MMPerPx > 0) {
		return scaleBar{}
	}
	perPx := o.Words.InLengthUnit(o.Photo.Scale.MMPerPx) * float64(o.Photo.WidthPx) / float64(widthPx)
	length := roundLength(0.3 * float64(widthPx) * perPx)
	return scaleBar{length / perPx, o.Words.T("%s %s at the centre", o.Words.Trimmed(length, 3), o.Words.LengthUnit())}
}

func fontFor(bold bool) *opentype.Font {
	if bold {
		return boldFont
	}
	return plainFont
}

// flow breaks the entries into rows.
func flow(entries []legendEntry, room float64, width func(legendEntry) float64) [][]legendEntry {
	var rows [][]legendEntry
	left := 0.0
	for _, e := range entries {
		e.width = width(e)
		if len(rows) == 0 || e.width > left {
			rows, left = append(rows, nil), room
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], e)
		left -= e.width
	}
	return rows
}

// bandText says the verdicts and the first change.
func (o Overlay) bandText() []bandLine {
	if o.Photo.Status == result.Refused {
		problem := ""
		if o.Photo.Problem != nil {
			problem = *o.Photo.Problem
		}
		return []bandLine{{o.Words.T("Refused"), true, verdictColor(new(string))}, {capital(o.Words.Say(problem)), false, textColor}}
	}
	if o.Sample == nil {
		return []bandLine{{capital(o.Words.T("not judged")), true, quietColor}}
	}
	say := o.Words
	var lines []bandLine
	if k := o.Sample.Kernels; k != nil && k.Passing475Pct != nil {
		v := o.Sample.Verdict.Kernels
		lines = append(lines, bandLine{say.T("Kernels: %s", say.Verdict(v)), true, verdictColor(v)},
			bandLine{say.T("%s %% of kernel mass through 4.75 mm, estimated", say.Interval(*k.Passing475Pct)), false, textColor})
		if k.Outlines475Pct != nil {
			lines = append(lines, bandLine{say.Say(k.Basis), false, quietColor})
		}
	}
	if p := o.Sample.Pieces; p != nil && p.GeometricMeanMM != nil {
		v := o.Sample.Verdict.Pieces
		lines = append(lines, bandLine{say.T("Length: %s", say.Verdict(v)), true, verdictColor(v)},
			bandLine{say.T("mean length %s %s", say.LengthInterval(*p.GeometricMeanMM), say.LengthUnit()), false, textColor})
	}
	if o.Photos > 1 {
		lines = append(lines, bandLine{say.T("judged from %d photos, of which this is one", o.Photos), false, quietColor})
	}
	if len(o.Sample.Advice) > 0 {
		lines = append(lines, bandLine{say.Say(o.Sample.Advice[0].Do), false, textColor})
	}
	return lines
}

// legend names what is drawn in this photo, with the counts of this photo.
func (o Overlay) legend() []legendEntry {
	say := o.Words
	counts := map[string]int{}
	for _, p := range o.Photo.Particles {
		counts[styleOf(p).name]++
	}
	var out []legendEntry
	for _, s := range styles {
		if n := counts[s.name]; n > 0 {
			out = append(out, legendEntry{style: s.style, text: fmt.Sprintf("%s %d", say.T(s.name), n)})
		}
	}
	if n := counts[cutStyle.name]; n > 0 {
		out = append(out, legendEntry{style: cutStyle, text: fmt.Sprintf("%s %d", say.T(cutStyle.name), n)})
	}
	if n := len(hatched(o.Photo)); n > 0 {
		out = append(out, legendEntry{style: hatchStyle, text: fmt.Sprintf("%s %d", say.T(hatchStyle.name), n)})
	}
	used, thrown := 0, 0
	for _, m := range o.Marks {
		if m.Used {
			used++
		} else {
			thrown++
		}
	}
	if used > 0 {
		out = append(out, legendEntry{style: style{color: usedColor, width: 1.2}, text: say.T("ruler marks %d", used)})
	}
	if thrown > 0 {
		out = append(out, legendEntry{style: style{color: thrownColor, width: 1.6, dash: []float64{3, 2}}, text: say.T("marks thrown out %d", thrown)})
	}
	if len(o.Grid) > 0 {
		out = append(out, legendEntry{style: style{color: fieldColor, width: 0.7}, text: say.T("grid %s %s", say.Limit(o.GridMM), say.LengthUnit())})
	}
	return out
}

func (b band) draw(c canvas, size image.Point) {
	c.SetColor(bandColor)
	c.DrawRectangle(0, float64(size.Y), float64(size.X), float64(b.height))
	c.Fill()
	x, y := b.font*0.6, float64(size.Y)+b.font*0.4
	for _, l := range b.lines {
		y += b.font * lineSpacing
		c.SetFontFace(face(fontFor(l.bold), b.font))
		c.SetColor(l.color)
		c.DrawString(l.text, x, y-b.font*0.3)
	}
	c.SetFontFace(face(plainFont, b.font*0.85))
	for _, row := range b.legend {
		y += b.font * lineSpacing
		at := x
		for _, e := range row {
			c.MoveTo(at, y-b.font*0.6)
			c.LineTo(at+b.font*2, y-b.font*0.6)
			bold := e.style
			bold.width *= 1.6
			c.cased(bold)
			c.SetColor(textColor)
			c.DrawString(e.text, at+b.font*2.5, y-b.font*0.3)
			at += e.width
		}
	}
	b.bar.draw(c, x, y+b.font*lineSpacing, b.font)
}

// draw puts the bar with its length behind it; y is the foot of its line of text.
func (s scaleBar) draw(c canvas, x, y, font float64) {
	if s.px <= 0 {
		return
	}
	c.SetColor(textColor)
	c.DrawRectangle(x, y-font*0.72, s.px, font*0.24)
	for _, end := range []float64{x, x + s.px - font*0.1} {
		c.DrawRectangle(end, y-font*0.9, font*0.1, font*0.6)
	}
	c.Fill()
	c.DrawString(s.text, x+s.px+font*0.5, y-font*0.3)
}
