package main

import (
	"io"
	"os"
	"path/filepath"
	"slices"

	"gristmark/internal/report/paper"
	"gristmark/internal/report/season"
	"gristmark/internal/result"
)

// printed gathers what the season report says beyond the entries.
type printed struct {
	refusals []paper.Refusal
	assumed  []string
}

func (p *printed) add(sample string, doc result.Document) {
	for _, photo := range doc.Photos {
		if photo.Status == result.Refused && photo.Problem != nil {
			p.refusals = append(p.refusals, paper.Refusal{Sample: sample, File: photo.File, Problem: *photo.Problem})
		}
	}
	for _, a := range doc.Assumed {
		if !slices.Contains(p.assumed, a) {
			p.assumed = append(p.assumed, a)
		}
	}
}

// operatorSheet writes the page of a sample into sheets/.
func (b *batchJob) operatorSheet(f finished) error {
	if b.pdf == "" {
		return nil
	}
	o := paper.Operator{Name: f.name, Document: f.doc, Words: b.words}
	for _, row := range f.rows[1:] {
		if row.Overlay == "" || row.Photo.Status != result.Measured {
			continue
		}
		data, err := os.ReadFile(filepath.Join(b.out, filepath.FromSlash(row.Overlay)))
		if err != nil {
			return err
		}
		o.Overlay, o.Shows = data, row.Photo.File
		break
	}
	return b.stream(filepath.Join("sheets", filepath.FromSlash(documentName(o.Name))+".pdf"), func(w io.Writer) error {
		return paper.WriteOperator(w, b.pdf, o)
	})
}

func (b *batchJob) seasonPaper(entries []season.Entry, p *printed) error {
	if b.pdf == "" {
		return nil
	}
	return b.stream("season.pdf", func(w io.Writer) error {
		return paper.WriteSeason(w, b.pdf, paper.Season{
			Title: b.title(), Entries: entries, Refusals: p.refusals, Targets: b.targets(), Passing: b.passingTarget(),
			Assumed: p.assumed, Version: programVersion(), Words: b.words,
		})
	})
}
