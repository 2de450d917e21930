package main

import (
	"errors"
	"io"
	"path"
	"path/filepath"
	"strings"

	"gristmark/internal/advice"
	"gristmark/internal/pipeline"
	"gristmark/internal/report/page"
	"gristmark/internal/report/plots"
	"gristmark/internal/report/season"
)

// writeReport writes the pages and papers of the season, and its charts as files where these are wished.
func (b *batchJob) writeReport(entries []season.Entry, papers *printed) error {
	err := errors.Join(b.seasonCharts(entries), b.seasonPaper(entries, papers))
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

// pagePath is where the page of a sample lies within the report, with slashes.
func pagePath(sample string) string { return path.Join("samples", documentName(sample)+".html") }

func (b *batchJob) samplePage(f finished) error {
	if !b.report {
		return nil
	}
	at := pagePath(f.name)
	up := strings.Repeat("../", strings.Count(at, "/"))
	s := page.Sample{Name: f.name, Document: f.doc, Words: b.words, Target: lengthTarget(f.opt), Index: up + "index.html", JSON: up + "../" + f.rows[0].Document}
	for _, row := range f.rows[1:] {
		overlay := row.Overlay
		if overlay != "" {
			overlay = up + "../" + overlay
		}
		s.Overlays = append(s.Overlays, overlay)
	}
	return b.stream(filepath.Join("report", filepath.FromSlash(at)), func(w io.Writer) error { return page.WriteSample(w, s) })
}

// sampleCharts writes the charts of a sample into plots/.
func (b *batchJob) sampleCharts(f finished) error {
	name := documentName(f.name)
	return errors.Join(
		b.chart("samples/"+name+".kernels", func() (plots.Chart, error) { return season.Kernels(b.words, f.doc) }),
		b.chart("samples/"+name+".lengths", func() (plots.Chart, error) { return season.Stover(b.words, f.doc, lengthTarget(f.opt)) }))
}

func (b *batchJob) seasonCharts(entries []season.Entry) error {
	var boxes error
	for _, g := range season.Boxes(b.words, entries, b.passingTarget()) {
		boxes = errors.Join(boxes, b.chart("box."+g.ID, func() (plots.Chart, error) { return plots.Box(b.words, g) }))
	}
	return errors.Join(boxes,
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

// passingTarget is the least share through 4.75 mm by the target set, nil where there is none or where the samples have several.
func (b *batchJob) passingTarget() *float64 {
	var common *float64
	for i, opt := range b.opts {
		l, ok := targetLine(opt, advice.PassingPct)
		if !ok || l.Min == nil || i > 0 && *l.Min != *common {
			return nil
		}
		common = l.Min
	}
	return common
}

// targets are the targets of the samples where all have the same, else those of the command line.
func (b *batchJob) targets() advice.TargetSet {
	for _, opt := range b.opts {
		if opt.Targets.Name != b.opts[0].Targets.Name {
			return b.opt.Targets
		}
	}
	if len(b.opts) > 0 {
		return b.opts[0].Targets
	}
	return b.opt.Targets
}

// lengthTarget is where the mean length should lie, nil where the length of cut is not known.
func lengthTarget(opt pipeline.Options) *plots.Range {
	l, ok := targetLine(opt, advice.LengthOverCut)
	cut := opt.Context.TLOCMM
	if !ok || cut == nil || l.Min == nil || l.Max == nil {
		return nil
	}
	return &plots.Range{Low: *l.Min * *cut, High: *l.Max * *cut}
}

func targetLine(opt pipeline.Options, measure string) (advice.Line, bool) {
	l, ok := opt.Targets.Line(measure)
	if !ok {
		return l, false
	}
	return l.At(opt.Context.DMPct)
}
