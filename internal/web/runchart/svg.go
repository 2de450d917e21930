package runchart

import (
	"bytes"
	"embed"
	"html/template"
	"math"
	"strconv"
)

//go:embed chart.svg
var files embed.FS

var drawing = template.Must(template.New("chart.svg").Funcs(template.FuncMap{"n": coordinate}).ParseFS(files, "chart.svg"))

// Point is one load.
type Point struct {
	Name  string
	Href  string
	Say   string // the figure in words
	Value float64
	Low   float64 // of its interval; equal to High where there is none
	High  float64
	Mark  string // what was set differently from the load before; empty: nothing
}

// Chart is the run of one figure, oldest first.
type Chart struct {
	Label      string // for who cannot see it
	Points     []Point
	TargetLow  *float64 // of the target band; nil: open
	TargetHigh *float64
	Least      *float64 // bounds of the scale that the figure itself has; nil: none
	Most       *float64
	Target     string // name of the band
	Centre     string // name of the centre line
	Limit      string // name of a limit
}

// size of a drawing, in its own units.
type size struct{ w, h, left, right, top, bottom float64 }

// Wide draws all points, for a desk and for print; Slim the last dozen, for a phone.
func (c Chart) Wide() (template.HTML, error) { return c.draw(size{1080, 226, 46, 76, 32, 28}, 0) }

// Slim draws the last dozen points.
func (c Chart) Slim() (template.HTML, error) { return c.draw(size{340, 270, 32, 8, 36, 34}, 12) }

type mark struct {
	X, Y   float64
	Kind   string
	Href   string
	Say    string
	Y0, Y1 float64
	Range  bool
}

type line struct {
	X, Y   float64
	Text   string
	Anchor string
}

type picture struct {
	W, H, Left, Right, Top, Bottom float64
	Label                          string
	Grid, Names, Lines             []line
	Marks                          []mark
	Changes                        []line
	Path                           string
	Band                           bool
	BandY, BandH                   float64
	TargetY                        []float64
	Phases                         []phase
}

// phase is where the limits of one setting of the machine are drawn.
type phase struct {
	X0, X1               float64
	CentreY, LowY, HighY float64
	BaseX, BaseW         float64
}

// Phases watches the run, cut at the marks.
func (c Chart) Phases() []Phase {
	values, anew := make([]float64, len(c.Points)), make([]bool, len(c.Points))
	for i, p := range c.Points {
		values[i], anew[i] = p.Value, p.Mark != ""
	}
	return Phases(values, anew)
}

func (c Chart) draw(s size, last int) (template.HTML, error) {
	phases := c.Phases()
	from := 0
	if last > 0 && len(c.Points) > last {
		from = len(c.Points) - last
	}
	p := c.layout(s, from, phases)
	var b bytes.Buffer
	if err := drawing.Execute(&b, p); err != nil {
		return "", err
	}
	return template.HTML(b.String()), nil // made by html/template
}

func (c Chart) layout(s size, from int, phases []Phase) picture {
	p := picture{W: s.w, H: s.h, Left: s.left, Right: s.w - s.right, Top: s.top, Bottom: s.h - s.bottom, Label: c.Label}
	low, high := c.span(from, phases)
	y := func(v float64) float64 {
		return p.Bottom - (math.Max(low, math.Min(high, v))-low)/(high-low)*(p.Bottom-p.Top)
	}
	count := len(c.Points) - from
	x := func(i int) float64 {
		return p.Left + (float64(i-from)+.5)*(p.Right-p.Left)/float64(max(count, 1))
	}
	for _, v := range ticks(low, high) {
		p.Grid = append(p.Grid, line{X: p.Left - 7, Y: y(v), Text: number(v)})
	}
	c.band(&p, y, low, high)
	half := (p.Right - p.Left) / float64(max(count, 1)) / 2
	for _, f := range phases {
		if !f.OK || f.To <= from {
			continue
		}
		l := f.Limits
		d := phase{X0: x(max(f.From, from)) - half, X1: x(f.To-1) + half, CentreY: y(l.Centre), LowY: y(l.Low), HighY: y(l.High)}
		if l.To > from {
			d.BaseX = x(max(l.From, from)) - half
			d.BaseW = x(l.To-1) + half - d.BaseX
		}
		p.Phases = append(p.Phases, d)
	}
	c.names(&p, s)
	c.points(&p, from, x, y, phases)
	return p
}

// span is the range of the scale: all that is drawn, with some air.
func (c Chart) span(from int, phases []Phase) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	take := func(v float64) { low, high = math.Min(low, v), math.Max(high, v) }
	for _, p := range c.Points[from:] {
		take(p.Low)
		take(p.High)
		take(p.Value)
	}
	for _, f := range phases {
		if f.OK && f.To > from {
			take(math.Max(f.Limits.Low, low-(high-low)))
			take(math.Min(f.Limits.High, high+(high-low)))
		}
	}
	for _, t := range []*float64{c.TargetLow, c.TargetHigh} {
		if t != nil {
			take(*t)
		}
	}
	air := math.Max((high-low)*.06, 1e-6)
	low, high = low-air, high+air
	if c.Least != nil {
		low = math.Max(low, *c.Least)
	}
	if c.Most != nil {
		high = math.Min(high, *c.Most)
	}
	if !(high > low) {
		return 0, 1
	}
	return low, high
}

func (c Chart) band(p *picture, y func(float64) float64, low, high float64) {
	if c.TargetLow == nil && c.TargetHigh == nil {
		return
	}
	bottom, top := low, high
	if c.TargetLow != nil {
		bottom = *c.TargetLow
		p.TargetY = append(p.TargetY, y(bottom))
	}
	if c.TargetHigh != nil {
		top = *c.TargetHigh
		p.TargetY = append(p.TargetY, y(top))
	}
	p.Band, p.BandY, p.BandH = true, y(top), math.Max(0, y(bottom)-y(top))
}

// names writes the lines' names at the right where there is room, each clear of the one above.
func (c Chart) names(p *picture, s size) {
	if s.right < 60 {
		return
	}
	var at []line
	if len(p.TargetY) > 0 {
		at = append(at, line{Y: p.TargetY[0], Text: c.Target, Anchor: "c-name c-good"})
	}
	if n := len(p.Phases); n > 0 && p.Phases[n-1].X1 > p.Right-1 { // those that reach the right end
		f := p.Phases[n-1]
		at = append(at, line{Y: f.CentreY, Text: c.Centre, Anchor: "c-name"}, line{Y: f.HighY, Text: c.Limit, Anchor: "c-text"}, line{Y: f.LowY, Text: c.Limit, Anchor: "c-text"})
	}
	for i := range at {
		at[i].X = p.Right + 8
		for tries := 0; tries < 6 && crowded(at[:i], at[i].Y); tries++ {
			at[i].Y += 8
		}
		at[i].Y += 4
	}
	p.Names = at
}

func crowded(at []line, y float64) bool {
	for _, o := range at {
		if math.Abs(o.Y-4-y) < 14 {
			return true
		}
	}
	return false
}

func (c Chart) points(p *picture, from int, x func(int) float64, y func(float64) float64, phases []Phase) {
	var kinds []Kind
	for _, f := range phases {
		kinds = append(kinds, f.Kinds...)
	}
	var path bytes.Buffer
	count := len(c.Points) - from
	every := max(1, int(math.Ceil(float64(count)*58/(p.Right-p.Left))))
	lastMark := math.Inf(-1)
	level := 0
	for i := from; i < len(c.Points); i++ {
		q := c.Points[i]
		m := mark{X: x(i), Y: y(q.Value), Href: q.Href, Say: q.Say, Y0: y(q.Low), Y1: y(q.High), Range: q.High > q.Low, Kind: [...]string{"fine", "out", "drift", "drift"}[kinds[i]]}
		p.Marks = append(p.Marks, m)
		if i > from {
			path.WriteByte('L')
		} else {
			path.WriteByte('M')
		}
		path.WriteString(coordinate(m.X) + " " + coordinate(m.Y))
		if (i-from)%every == 0 {
			p.Lines = append(p.Lines, line{X: m.X, Y: p.Bottom + 18, Text: shorten(q.Name, 9)})
		}
		if q.Mark != "" {
			at := m.X - (p.Right-p.Left)/float64(max(count, 1))/2
			if at-lastMark < 96 {
				level = 1 - level
			} else {
				level = 0
			}
			anchor := "start"
			if at > p.Left+(p.Right-p.Left)*.7 {
				anchor = "end"
			}
			p.Changes = append(p.Changes, line{X: at, Y: 13 + 14*float64(level), Text: shorten(q.Mark, 24), Anchor: anchor})
			lastMark = at
		}
	}
	p.Path = path.String()
}

// shorten cuts the beginning of a long name: what tells loads apart stands at its end.
func shorten(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return "…" + string(r[len(r)-n+1:])
}

func coordinate(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64) }

func number(v float64) string { return strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64) }

// ticks are about five round values in low..high.
func ticks(low, high float64) []float64 {
	step := math.Pow(10, math.Floor(math.Log10((high-low)/5)))
	for _, m := range []float64{1, 2, 5, 10} {
		if (high-low)/(step*m) <= 6 {
			step *= m
			break
		}
	}
	var out []float64
	for v := math.Ceil(low/step) * step; v <= high+step*1e-9; v += step {
		out = append(out, v)
	}
	return out
}
