package web

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strings"
	"time"

	"gristmark/internal/advice"
	"gristmark/internal/harvest"
	"gristmark/internal/report"
	"gristmark/internal/report/paper"
	"gristmark/internal/report/season"
	"gristmark/internal/report/tables"
	"gristmark/internal/result"
)

// chosenLoads are the loads of a harvest that the filter of the address leaves, oldest first.
func (c *call) chosenLoads() (harvest.Harvest, []harvest.Load, error) {
	h, err := c.harvest()
	if err != nil {
		return h, nil, err
	}
	f, _ := filter(c.r.URL.Query())
	loads, err := c.desk().Loads(c.ctx(), h.ID, f)
	return h, loads, err
}

// whole reads a load with its photos, the photos under the names that they had on the phone.
func (c *call) whole(id int64) (harvest.Load, error) {
	l, err := c.desk().Load(c.ctx(), id)
	if err != nil || l.Document == nil {
		return l, err
	}
	doc := *l.Document
	doc.Photos = append([]result.Photo(nil), doc.Photos...)
	names := map[string]string{}
	for _, p := range l.Photos {
		names[p.ID] = p.File
	}
	for i := range doc.Photos {
		p := &doc.Photos[i]
		for _, field := range []*string{&p.File, &p.DuplicateOf, &p.SameSpreadAs} {
			if name, ok := names[*field]; ok {
				*field = name
			}
		}
	}
	if doc.Sample != nil {
		s := *doc.Sample
		s.Notes = append([]string(nil), s.Notes...)
		for i, n := range s.Notes {
			for id, name := range names {
				n = strings.ReplaceAll(n, id, name)
			}
			s.Notes[i] = n
		}
		doc.Sample = &s
	}
	l.Document = &doc
	return l, nil
}

// rowsOf are the rows of a load in the tables, and of its photos.
func rowsOf(l harvest.Load) []report.Row {
	if l.Document == nil {
		return nil
	}
	rows := []report.Row{{Sample: l.Name, Photos: l.Document.Photos, Estimate: l.Document.Sample, Document: documentName(l)}}
	for i := range l.Document.Photos {
		rows = append(rows, report.Row{Sample: l.Name, Photo: &l.Document.Photos[i]})
	}
	return rows
}

// documentName is a name that every file system takes.
func documentName(l harvest.Load) string {
	safe := strings.Map(func(r rune) rune {
		if r == '-' || r == '_' || (r >= '0' && r <= '9') || (r >= 'a' && r <= 'z') || (r >= 'A' && r <= 'Z') {
			return r
		}
		return '-'
	}, l.Name)
	return fmt.Sprintf("documents/%d-%s.json", l.ID, strings.Trim(safe, "-"))
}

// file answers with a file to keep.
func (c *call) file(kind, name string, write func(io.Writer) error) error {
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	c.w.Header().Set("Content-Type", kind)
	c.w.Header().Set("Content-Disposition", attachment(name))
	_, err := b.WriteTo(c.w)
	return err
}

func (c *call) each(loads []harvest.Load, work func(harvest.Load) error) error {
	for _, thin := range loads {
		l, err := c.whole(thin.ID)
		if err == nil {
			err = work(l)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func resultsCSV(c *call) error {
	h, loads, err := c.chosenLoads()
	if err != nil {
		return err
	}
	var rows []report.Row
	err = c.each(loads, func(l harvest.Load) error {
		for _, r := range rowsOf(l) {
			rows = append(rows, thinRow(r))
		}
		return nil
	})
	if err != nil {
		return err
	}
	return c.file("text/csv; charset=utf-8", h.Name+".csv", func(w io.Writer) error { return report.WriteResults(w, rows) })
}

// thinRow leaves of the pieces what the tables count, so that memory does not grow with the outlines.
func thinRow(r report.Row) report.Row {
	slim := func(p result.Photo) result.Photo {
		list := make([]result.Particle, len(p.Particles))
		for i, q := range p.Particles {
			list[i] = result.Particle{Class: q.Class}
		}
		p.Particles, p.Field = list, nil
		return p
	}
	if r.Photo != nil {
		p := slim(*r.Photo)
		r.Photo = &p
	}
	for i, p := range r.Photos {
		if i == 0 {
			r.Photos = append([]result.Photo(nil), r.Photos...)
		}
		r.Photos[i] = slim(p)
	}
	return r
}

func resultsXLSX(c *call) error {
	h, loads, err := c.chosenLoads()
	if err != nil {
		return err
	}
	return c.file("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", h.Name+".xlsx", func(w io.Writer) error { return c.workbook(w, loads) })
}

func documentsZip(c *call) error {
	h, loads, err := c.chosenLoads()
	if err != nil {
		return err
	}
	c.w.Header().Set("Content-Type", "application/zip")
	c.w.Header().Set("Content-Disposition", attachment(h.Name+".zip"))
	z := zip.NewWriter(c.w)
	err = c.each(loads, func(l harvest.Load) error {
		if l.Document == nil {
			return nil
		}
		w, err := z.CreateHeader(&zip.FileHeader{Name: documentName(l), Method: zip.Deflate, Modified: l.At})
		if err != nil {
			return err
		}
		return writeDocument(w, l.Document)
	})
	if err != nil {
		c.opt.Logger.Error("documents.zip ended early", "error", err) // the archive lacks its end, so that it cannot be taken for whole
		panic(http.ErrAbortHandler)
	}
	return z.Close()
}

func writeDocument(w io.Writer, doc *result.Document) error {
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	return e.Encode(doc)
}

func documentJSON(c *call) error {
	id, err := c.id("load")
	if err != nil {
		return err
	}
	l, err := c.whole(id)
	if err != nil {
		return err
	}
	if l.Document == nil {
		return harvest.ErrNone
	}
	return c.file("application/json; charset=utf-8", strings.TrimPrefix(documentName(l), "documents/"), func(w io.Writer) error { return writeDocument(w, l.Document) })
}

// operatorPDF is the page for whoever drives the machine, with the first photo that has its pieces outlined.
func operatorPDF(c *call) error {
	id, err := c.id("load")
	if err != nil {
		return err
	}
	l, err := c.whole(id)
	if err != nil {
		return err
	}
	if l.Document == nil || l.Document.Sample == nil {
		return formError{c.t("This load has no measured photo yet, and so nothing to print.")}
	}
	o := paper.Operator{Name: l.Name, Document: *l.Document, Words: c.in.words}
	for _, p := range l.Photos {
		if p.HasOverlay && p.State == harvest.Measured {
			if o.Overlay, err = c.bytes(p, true); err != nil {
				return err
			}
			o.Shows = p.File
			break
		}
	}
	return c.file("application/pdf", l.Name+".pdf", func(w io.Writer) error { return paper.WriteOperator(w, c.paper(), o) })
}

// paper is the size that was asked for, A4 unless told.
func (c *call) paper() string {
	if c.r.URL.Query().Get("paper") == "letter" {
		return "letter"
	}
	return "a4"
}

func seasonPDF(c *call) error {
	h, loads, err := c.chosenLoads()
	if err != nil {
		return err
	}
	set := targets(h)
	r := paper.Season{Title: h.Name, Targets: set, Version: c.opt.Version, Words: c.in.words}
	if line, ok := set.Line(advice.PassingPct); ok {
		r.Passing = line.Min
	}
	for _, l := range loads {
		if l.Document == nil {
			continue
		}
		e := season.EntryOf(l.Name, *l.Document)
		e.Taken = l.At.Format(time.RFC3339)
		r.Entries = append(r.Entries, e)
		for _, p := range l.Document.Photos {
			if p.Status == result.Refused && p.Problem != nil {
				r.Refusals = append(r.Refusals, paper.Refusal{Sample: l.Name, File: p.File, Problem: *p.Problem})
			}
		}
		for _, a := range l.Document.Assumed {
			r.Assumed = with(r.Assumed, a)
		}
	}
	if len(r.Entries) == 0 {
		return formError{c.t("No load has a measured photo yet, and so there is nothing to print.")}
	}
	season.Sort(r.Entries)
	return c.file("application/pdf", h.Name+".pdf", func(w io.Writer) error { return paper.WriteSeason(w, c.paper(), r) })
}

// workbook writes the XLSX: a sheet of samples, of photos, of refused ones and of pieces. Loads are read twice, so that
// no more than one lies in memory.
func (c *call) workbook(w io.Writer, loads []harvest.Load) error {
	seen := &tables.Columns{}
	if err := c.each(loads, func(l harvest.Load) error { seen.See(rowsOf(l)...); return nil }); err != nil {
		return err
	}
	book, err := tables.NewWorkbook(seen)
	if err != nil {
		return err
	}
	err = c.each(loads, func(l harvest.Load) error {
		if l.Document == nil {
			return nil
		}
		if err := book.WriteRows(rowsOf(l)...); err != nil {
			return err
		}
		return book.Write(tables.Particles(l.Name, l.Document.Photos))
	})
	if err != nil {
		return err
	}
	return book.Finish(w)
}
