package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"gristmark/internal/pipeline"
	"gristmark/internal/report"
	"gristmark/internal/report/season"
	"gristmark/internal/report/tables"
	"gristmark/internal/result"
)

// finished is a sample whose document is written.
type finished struct {
	name string
	opt  pipeline.Options
	doc  result.Document
	rows []report.Row // the sample's own first
}

// eachSample reads the documents of the samples again, in their order and one at a time, so that memory does not grow
// with the folder.
func (b *batchJob) eachSample(do func(finished) error) error {
	for i, s := range b.samples {
		if !b.done[s.Name] {
			continue
		}
		path := filepath.Join(b.out, documentPath(s.Name))
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		f := finished{name: s.Name, opt: b.opts[i]}
		if err := json.Unmarshal(data, &f.doc); err != nil {
			return fmt.Errorf("%s cannot be read: %w", path, err)
		}
		f.rows = b.rowsOf(f)
		if err := do(f); err != nil {
			return err
		}
	}
	return nil
}

// rowsOf are the rows of a sample in the tables.
func (b *batchJob) rowsOf(f finished) []report.Row {
	var told result.Settings
	if f.doc.Settings != nil {
		told = *f.doc.Settings
	}
	rows := []report.Row{{Sample: f.name, Photos: f.doc.Photos, Estimate: f.doc.Sample, Document: filepath.ToSlash(documentPath(f.name)), Settings: told}}
	for k := range f.doc.Photos {
		row := report.Row{Sample: f.name, Photo: &f.doc.Photos[k], Settings: told}
		at := overlayPath(row.Photo.File)
		if _, err := os.Stat(filepath.Join(b.out, at)); err == nil && b.opt.Picture {
			row.Overlay = filepath.ToSlash(at)
		}
		rows = append(rows, row)
	}
	return rows
}

// tally is what was written, in numbers.
type tally struct {
	photos, refused int
	lines           []report.SampleLine
	left, untold    string // said before
	someLeft        bool
}

// said notes what belongs to no sample; true where that was said before.
func (t *tally) said(f found) bool {
	left, untold := fmt.Sprint(f.left), fmt.Sprint(f.unused, f.untold)
	before := t.left == left && t.untold == untold
	t.left, t.untold, t.someLeft = left, untold, len(f.left) > 0
	return before
}

func (t *tally) add(f finished) {
	line := report.SampleLine{Name: f.name, Photos: len(f.doc.Photos), Sample: f.doc.Sample}
	for _, p := range f.doc.Photos {
		if p.Status == result.Refused {
			line.Refused++
		}
	}
	t.photos, t.refused, t.lines = t.photos+line.Photos, t.refused+line.Refused, append(t.lines, line)
}

// writeTables writes everything that speaks of more than one sample.
func (b *batchJob) writeTables() error {
	b.tally.photos, b.tally.refused, b.tally.lines = 0, 0, nil
	var entries []season.Entry
	papers, seen := &printed{}, &tables.Columns{}
	err := b.streams([]string{"results.csv", "refused.csv", "particles.csv", "particles.parquet"}, func(w []io.Writer) error {
		results, refused, parquet := report.NewResultsTable(w[0]), report.NewRefusedTable(w[1]), tables.NewParticleParquet(w[3])
		particles, err := tables.NewParticleCSV(w[2])
		if err != nil {
			return err
		}
		err = b.eachSample(func(f finished) error {
			b.tally.add(f)
			seen.See(f.rows...)
			e := season.EntryOf(f.name, f.doc)
			e.Page = pagePath(f.name)
			entries = append(entries, e)
			papers.add(f.name, f.doc)
			pieces := tables.Particles(f.name, f.doc.Photos)
			return errors.Join(results.Write(f.rows...), refused.Write(f.rows...), particles.Write(pieces), parquet.Write(pieces))
		})
		return errors.Join(err, results.Close(), refused.Close(), particles.Close(), parquet.Close())
	})
	if err != nil {
		return err
	}
	season.Sort(entries)
	return errors.Join(b.writeBook(seen), b.writeReport(entries, papers), b.clear())
}

// writeBook writes results.xlsx. It comes second, once it is known which columns are filled.
func (b *batchJob) writeBook(seen *tables.Columns) error {
	book, err := tables.NewWorkbook(seen)
	if err != nil {
		return err
	}
	return b.stream("results.xlsx", func(w io.Writer) error {
		err := b.eachSample(func(f finished) error {
			return errors.Join(book.WriteRows(f.rows...), book.Write(tables.Particles(f.name, f.doc.Photos)))
		})
		return errors.Join(err, book.Finish(w))
	})
}

// stream writes a file of the results without holding it in memory.
func (b *batchJob) stream(name string, write func(io.Writer) error) error {
	full := filepath.Join(b.out, name)
	if err := os.MkdirAll(filepath.Dir(full), 0o777); err != nil {
		return err
	}
	return pipeline.WriteStream(full, write)
}

// streams writes several files at once.
func (b *batchJob) streams(names []string, write func([]io.Writer) error, open ...io.Writer) error {
	if len(names) == 0 {
		return write(open)
	}
	return b.stream(names[0], func(w io.Writer) error { return b.streams(names[1:], write, append(open, w)...) })
}
