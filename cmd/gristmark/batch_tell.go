package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/urfave/cli/v2"

	"gristmark/internal/report"
)

// tell prints the documents, or a table of the samples and where the results lie.
func (b *batchJob) tell(c *cli.Context) error {
	if b.json {
		for _, s := range b.samples {
			if b.done[s.Name] {
				if err := b.printDocument(c.App.Writer, s.Name); err != nil {
					return err
				}
			}
		}
		return nil
	}
	if err := report.Samples(c.App.Writer, b.tally.lines, paintFor(c)); err != nil {
		return err
	}
	fmt.Fprintf(c.App.Writer, "\n%s\n", b.words.T("results: %s", filepath.Join(b.out, "results.csv")))
	if b.report {
		fmt.Fprintln(c.App.Writer, b.words.T("report: %s", filepath.Join(b.out, "report", "index.html")))
	}
	return nil
}

// printDocument prints the document of a sample on one line.
func (b *batchJob) printDocument(w io.Writer, sample string) error {
	data, err := os.ReadFile(filepath.Join(b.out, documentPath(sample)))
	if err != nil {
		return err
	}
	var line bytes.Buffer
	if err := json.Compact(&line, data); err != nil {
		return err
	}
	line.WriteByte('\n')
	_, err = line.WriteTo(w)
	return err
}

// outcome is what was refused or went wrong.
func (b *batchJob) outcome() error {
	switch {
	case len(b.failed) > 0:
		return withHint(fmt.Errorf("the program failed on %d of %d photos; the others are done", len(b.failed), b.tally.photos), "the same command tries them again")
	case b.tally.refused > 0:
		return withHint(refusedErrorf("%d of %d photos were refused", b.tally.refused, b.tally.photos), "their reasons are in "+filepath.Join(b.out, "refused.csv"))
	case len(b.uncorrected) > 0:
		return withHint(refusedErrorf("the correction does not speak of %d of %d samples; they stand as from outlines", len(b.uncorrected), len(b.samples)), "the notes of their documents say why")
	}
	return nil
}
