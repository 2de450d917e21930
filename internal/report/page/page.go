// Package page writes the report that opens in a browser without a server: an index of the season and a page a sample.
// The pages need no network, and no scripts but those in them; the index without scripts is a plain table.
package page

import (
	"embed"
	"errors"
	"html/template"
	"io"
	"net/url"
	"strings"

	"gristmark/internal/report"
	"gristmark/internal/report/plots"
	"gristmark/internal/report/season"
	"gristmark/internal/result"
	"gristmark/internal/words"
)

//go:embed index.html sample.html style.css table.js
var files embed.FS

var templates = template.Must(template.New("").Funcs(speaking(nil)).ParseFS(files, "*.html"))

// speaking are the functions of the templates in a language and units.
func speaking(say *words.Words) template.FuncMap {
	return template.FuncMap{
		"interval": func(e *result.Estimate) string { return say.Interval(*e) },
		"lengths":  func(e *result.Estimate) string { return say.LengthInterval(*e) },
		"share":    say.Interval,
		"verdict":  say.Verdict,
		"t":        say.T,
		"say":      say.Say,
		"unit":     say.LengthUnit,
		"lang":     say.Lang,
		"classes":  func(c *result.LengthClasses) string { return report.ClassesText(*c, say) },
		"check":    func(c result.Check) string { return report.CheckText(c, say) },
		"told":     func(s result.Settings) string { return report.SettingsText(s, say) },
		"badge":    badge,
		"passing":  season.PassingOf,
		"length":   season.LengthOf,
		"href":     href,
		"day":      day,
	}
}

// write fills a template in a language and units.
func write(w io.Writer, name string, say *words.Words, data any) error {
	t, err := templates.Clone()
	if err != nil {
		return err
	}
	return t.Funcs(speaking(say)).ExecuteTemplate(w, name, data)
}

// Index is the season.
type Index struct {
	Title   string
	Entries []season.Entry // in order
	Target  *float64       // least share through 4.75 mm, %; nil for none
	Papers  []string       // files in the folder above for printing
	Version string
	Words   *words.Words // language and units
}

// WriteIndex writes index.html.
func WriteIndex(w io.Writer, i Index) error {
	var charts []template.HTML
	for _, s := range []plots.Series{season.Passing(i.Words, i.Entries, i.Target), season.Lengths(i.Words, i.Entries)} {
		if err := draw(&charts, func() (plots.Chart, error) { return plots.Run(i.Words, s) }); err != nil {
			return err
		}
	}
	for _, g := range season.Boxes(i.Words, i.Entries, i.Target) {
		if err := draw(&charts, func() (plots.Chart, error) { return plots.Box(i.Words, g) }); err != nil {
			return err
		}
	}
	photos, refused := 0, 0
	for _, e := range i.Entries {
		photos, refused = photos+e.Photos, refused+e.Refused
	}
	return write(w, "index.html", i.Words, struct {
		Index
		Charts          []template.HTML
		Style           template.CSS
		Script          template.JS
		Photos, Refused int
	}{i, charts, template.CSS(text("style.css")), template.JS(text("table.js")), photos, refused})
}

// Sample is one sample's page.
type Sample struct {
	Name     string
	Document result.Document
	Target   *plots.Range // where the mean length should lie, mm; nil where that is not known
	Index    string       // path to the index from the page
	JSON     string       // path to the measurement document from the page
	Words    *words.Words // language and units
	Overlays []string     // parallel to Document.Photos: path from the page; empty where there is none
}

// photoView is a photo on its page.
type photoView struct {
	result.Photo
	Overlay string
}

// Failed are the checks that did not pass.
func (p photoView) Failed() []result.Check {
	var out []result.Check
	for _, c := range p.Checks {
		if !c.OK {
			out = append(out, c)
		}
	}
	return out
}

// WriteSample writes the page of a sample.
func WriteSample(w io.Writer, s Sample) error {
	var charts []template.HTML
	for _, chart := range []func() (plots.Chart, error){
		func() (plots.Chart, error) { return season.Kernels(s.Words, s.Document) },
		func() (plots.Chart, error) { return season.Stover(s.Words, s.Document, s.Target) },
	} {
		if err := draw(&charts, chart); err != nil {
			return err
		}
	}
	var photos []photoView
	for i, p := range s.Document.Photos {
		v := photoView{Photo: p}
		if i < len(s.Overlays) {
			v.Overlay = s.Overlays[i]
		}
		photos = append(photos, v)
	}
	return write(w, "sample.html", s.Words, struct {
		Sample
		Charts []template.HTML
		Style  template.CSS
		Photos []photoView
	}{s, charts, template.CSS(text("style.css")), photos})
}

// draw adds a chart as an SVG element; where there is nothing to draw none.
func draw(charts *[]template.HTML, chart func() (plots.Chart, error)) error {
	c, err := chart()
	if errors.Is(err, plots.ErrNothing) {
		return nil
	}
	if err != nil {
		return err
	}
	svg, err := c.InlineSVG()
	*charts = append(*charts, template.HTML(svg)) // the drawing library escapes its texts
	return err
}

func text(name string) string {
	data, err := files.ReadFile(name)
	if err != nil {
		panic(err) // the file is compiled in
	}
	return string(data)
}

// badge is the class of a verdict in the style sheet.
func badge(v *string) string {
	if v == nil {
		return "none"
	}
	switch *v {
	case result.OnTarget:
		return "good"
	case result.Undecided:
		return "open"
	}
	return "off"
}

// href makes a path with slashes into a link that no letter of a name can break.
func href(path string) string {
	parts := strings.Split(path, "/")
	for i, p := range parts {
		parts[i] = url.PathEscape(p)
	}
	return "./" + strings.Join(parts, "/")
}

// day prints the day and the minute, without the T.
func day(taken string) string {
	if len(taken) > 16 {
		taken = taken[:16]
	}
	return strings.Replace(taken, "T", " ", 1)
}
