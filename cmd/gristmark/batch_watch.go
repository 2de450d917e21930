package main

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/urfave/cli/v2"

	"gristmark/internal/pipeline"
)

// watch measures what lies in the folder and what comes, until the user ends it. After each round everything is written.
func (b *batchJob) watch(c *cli.Context) error {
	if c.IsSet("log") {
		return withHint(usageError("--log does not go with --watch"), "watch first, then run the same command with --log in place of --watch: nothing is measured twice")
	}
	release, err := b.claim()
	if err != nil {
		return err
	}
	defer release()
	w := pipeline.NewWatcher(b.folder, b.plan.tables(), c.Duration("settle"))
	defer w.Close()
	fmt.Fprintf(c.App.ErrWriter, "gristmark: %s\n", b.words.T("watching %s; Ctrl-C ends", b.folder))
	measured := map[string]string{} // what each sample was measured from
	_, before := os.Stat(filepath.Join(b.out, "results.csv"))
	rounds := 0
	for {
		files, err := w.Next(c.Context)
		if c.Context.Err() != nil {
			break
		}
		if err != nil {
			return err
		}
		if err := b.round(c, files, measured); err != nil {
			return err
		}
		if c.Context.Err() != nil {
			break
		}
		rounds++
	}
	if rounds == 0 && (before == nil || len(b.done) == 0) { // tables of an earlier run tell more than a part of the first round
		return withHint(interrupted(c.Context, c.Context.Err()), "the same command goes on where this one stopped")
	}
	if err := b.writeTables(); err != nil {
		return err
	}
	if !b.json {
		if err := b.tell(c); err != nil {
			return err
		}
	}
	return cmp.Or(b.outcome(), b.tableFault)
}

// round measures the samples that are new or have changed, and writes everything anew. A fault in a table is told, and what was read before
// it stands.
func (b *batchJob) round(c *cli.Context, files map[string]pipeline.FileState, measured map[string]string) error {
	if err := b.gather(c, slices.Sorted(maps.Keys(files))); err != nil {
		printError(complaints(c), err, b.words)
		b.tableFault = err
		return nil
	}
	b.tableFault = nil
	var samples []pipeline.Batch
	var opts []pipeline.Options
	for i, s := range b.samples {
		from := stateOf(s, b.opts[i], files)
		if measured[s.Name] == from {
			continue
		}
		measured[s.Name] = from
		samples, opts = append(samples, s), append(opts, b.opts[i])
	}
	err := b.measure(c, samples, opts)
	if err != nil && c.Context.Err() == nil {
		return err
	}
	if c.Context.Err() != nil {
		return nil // what is complete is written at the end
	}
	if err := b.writeTables(); err != nil {
		return err
	}
	return b.sayRound(c, samples)
}

// stateOf tells whether a sample has to be measured or judged anew.
func stateOf(s pipeline.Batch, opt pipeline.Options, files map[string]pipeline.FileState) string {
	told, err := json.Marshal(s.Settings)
	if err != nil {
		panic(err) // plain values
	}
	text := fmt.Sprintln(string(told), opt.Targets.Name, s.Refused)
	for _, p := range s.Photos {
		text += fmt.Sprintln(p, files[p])
	}
	return text
}

func (b *batchJob) sayRound(c *cli.Context, samples []pipeline.Batch) error {
	if b.json {
		for _, s := range samples {
			if err := b.printDocument(c.App.Writer, s.Name); err != nil {
				return err
			}
		}
	}
	if len(samples) > 0 {
		fmt.Fprintf(c.App.ErrWriter, "gristmark: %s %s\n", time.Now().Format(time.TimeOnly),
			b.words.T("%s is up to date: %d photos in %d samples, %d refused", filepath.Join(b.out, "results.csv"), b.tally.photos, len(b.tally.lines), b.tally.refused))
	}
	return nil
}
