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
	"gristmark/internal/report/tables"
	"gristmark/internal/result"
)

// eachDocument reads the documents of the samples again, in their order and one at a time, so that memory does not grow
// with the folder.
func (b *batchJob) eachDocument(do func(i int, doc result.Document) error) error {
	for i := range b.samples {
		path := filepath.Join(b.out, filepath.FromSlash(b.rows[i][0].Document))
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		var doc result.Document
		if err := json.Unmarshal(data, &doc); err != nil {
			return fmt.Errorf("%s cannot be read: %w", path, err)
		}
		if err := do(i, doc); err != nil {
			return err
		}
	}
	return nil
}

func (b *batchJob) allRows() []report.Row {
	var rows []report.Row
	for _, r := range b.rows {
		rows = append(rows, r...)
	}
	return rows
}

// writeParticles writes particles.csv, particles.parquet and results.xlsx.
func (b *batchJob) writeParticles() error {
	book, err := tables.NewWorkbook(b.allRows())
	if err != nil {
		return err
	}
	stream := func(name string, write func(io.Writer) error) error {
		return pipeline.WriteStream(filepath.Join(b.out, name), write)
	}
	return stream("particles.csv", func(text io.Writer) error {
		return stream("particles.parquet", func(columns io.Writer) error {
			return stream("results.xlsx", func(sheets io.Writer) error {
				lines, err := tables.NewParticleCSV(text)
				if err != nil {
					return err
				}
				parquet := tables.NewParticleParquet(columns)
				err = b.eachDocument(func(i int, doc result.Document) error {
					rows := tables.Particles(b.samples[i].Name, doc.Photos)
					return errors.Join(lines.Write(rows), parquet.Write(rows), book.Write(rows))
				})
				return errors.Join(err, lines.Close(), parquet.Close(), book.Finish(sheets))
			})
		})
	})
}
