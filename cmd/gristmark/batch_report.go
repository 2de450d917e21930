package main

import (
	"errors"
	"io"
	"os"
	"path"
	"path/filepath"
	"strings"

	"gristmark/internal/advice"
	"gristmark/internal/pipeline"
	"gristmark/internal/report/page"
	"gristmark/internal/report/plots"
	"gristmark/internal/report/season"
	"gristmark/internal/result"
)

// writeReport writes the report folder, and the charts as files where these are wished.
func (b *batchJob) writeReport() error {
	var entries []season.Entry
	papers := &printed{}
	err := b.eachDocument(func(i int, doc result.Document) error {
		name := b.samples[i].Name
		e := season.EntryOf(name, doc)
		e.Page = path.Join("samples", documentName(name)+".html")
		entries = append(entries, e)
		papers.add(name, doc)
		return errors.Join(b.samplePage(i, e.Page, doc), b.sampleCharts(i, doc), b.operatorSheet(i, doc))
	})
	if err != nil {
		return err
	}
	season.Sort(entries)
	err = errors.Join(b.seasonCharts(entries), b.seasonPaper(entries, papers))
	if err != nil || !b.report {
		return err
	}
	var sheets []string
	if b.pdf != "" {
		sheets = []string{"season.pdf"}
	}
	return b.stream(filepath.Join("report", "index.html"), func(w io.Writer) error {
		return page.WriteIndex(w, page.Index{Title: b.title(), Entries: entries, Target: b.passingTarget(), Papers: sheets, Version: programVersion(), Words: b.words})
	})
}

// title is the name of the photos' folder.
func (b *batchJob) title() string {
	if name := filepath.Base(realPath(b.folder)); name != "/" && name != "." {
		return name
	}
	return b.words.T("season")
}

// stream writes a file of the results without holding it in memory.
func (b *batchJob) stream(name string, write func(io.Writer) error) error {
	full := filepath.Join(b.out, name)
	if err := os.MkdirAll(filepath.Dir(full), 0o777); err != nil {
		return err
	}
	return pipeline.WriteStream(full, write)
}

func (b *batchJob) samplePage(i int, at string, doc result.Document) error {
	if !b.report {
		return nil
	}
	up := strings.Repeat("../", strings.Count(at, "/"))
	s := page.Sample{Name: b.samples[i].Name, Document: doc, Words: b.words, Target: b.lengthTarget(), Index: up + "index.html", JSON: up + "../" + b.rows[i][0].Document}
	for _, row := range b.rows[i][1:] {
		overlay := row.Overlay
		if overlay != "" {
			overlay = up + "../" + overlay
		}
		s.Overlays = append(s.Overlays, overlay)
	}
	return b.stream(filepath.Join("report", filepath.FromSlash(at)), func(w io.Writer) error { return page.WriteSample(w, s) })
}

// sampleCharts writes the charts of a sample into plots/.
func (b *batchJob) sampleCharts(i int, doc result.Document) error {
	name := documentName(b.samples[i].Name)
	return errors.Join(
		b.chart("samples/"+name+".kernels", func() (plots.Chart, error) { return season.Kernels(b.words, doc) }),
		b.chart("samples/"+name+".lengths", func() (plots.Chart, error) { return season.Stover(b.words, doc, b.lengthTarget()) }))
}

func (b *batchJob) seasonCharts(entries []season.Entry) error {
	return errors.Join(
		b.chart("run.passing", func() (plots.Chart, error) {
			return plots.Run(b.words, season.Passing(b.words, entries, b.passingTarget()))
		}),
		b.chart("run.lengths", func() (plots.Chart, error) { return plots.Run(b.words, season.Lengths(b.words, entries)) }))
}

// chartDPI makes a picture of 17 cm some 1300 px wide.
const chartDPI = 200

// chart writes a chart in the formats wished; where there is nothing to draw none.
func (b *batchJob) chart(name string, draw func() (plots.Chart, error)) error {
	if b.plots == "" {
		return nil
	}
	c, err := draw()
	if errors.Is(err, plots.ErrNothing) {
		return nil
	}
	if err != nil {
		return err
	}
	for format, write := range map[string]func() ([]byte, error){"png": func() ([]byte, error) { return c.PNG(chartDPI) }, "svg": c.SVG} {
		if b.plots != format && b.plots != "both" {
			continue
		}
		data, err := write()
		if err != nil {
			return err
		}
		if err := b.write(filepath.Join("plots", filepath.FromSlash(name)+"."+format), data); err != nil {
			return err
		}
	}
	return nil
}

// passingTarget is the least share through 4.75 mm by the target set, nil where there is none.
func (b *batchJob) passingTarget() *float64 {
	l, ok := b.line(advice.PassingPct)
	if !ok {
		return nil
	}
	return l.Min
}

// lengthTarget is where the mean length should lie, nil where the length of cut is not known.
func (b *batchJob) lengthTarget() *plots.Range {
	l, ok := b.line(advice.LengthOverCut)
	cut := b.opt.Context.TLOCMM
	if !ok || cut == nil || l.Min == nil || l.Max == nil {
		return nil
	}
	return &plots.Range{Low: *l.Min * *cut, High: *l.Max * *cut}
}

func (b *batchJob) line(measure string) (advice.Line, bool) {
	l, ok := b.opt.Targets.Line(measure)
	if !ok {
		return l, false
	}
	return l.At(b.opt.Context.DMPct)
}
