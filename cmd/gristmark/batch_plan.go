package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/internal/advice"
	"gristmark/internal/harvestfile"
	"gristmark/internal/pipeline"
)

// sampleFlags say what is one sample, and what is known of each.
func sampleFlags() []cli.Flag {
	return []cli.Flag{
		&cli.StringFlag{Name: "group", Value: string(pipeline.ByFolder), Usage: "`WHAT` is one sample: folder, name (names that differ in a last one- or two-digit number or letter alone) or photo"},
		&cli.StringFlag{Name: "samples", Usage: "`FILE` says which photo is of which sample: a CSV with the columns photo and sample; more columns are settings, as in harvest.csv"},
		&cli.StringFlag{Name: "pattern", Usage: "file names say it: `PATTERN` such as '{sample}_{n}.jpg', with * for anything and {field}, {hybrid} … for settings, or a regular expression from ^ with (?P<sample>…)"},
		&cli.StringFlag{Name: "harvest", Usage: "settings of each load from `FILE`; without it from harvest.csv in FOLDER, where there is one"},
	}
}

// samplePlan is how the photos of the folder become samples with settings.
type samplePlan struct {
	folder   string
	group    pipeline.Grouping // nil: the table says it
	table    string            // file of --samples
	harvest  string            // file with the settings of loads
	optional bool              // it need not be there
}

func newSamplePlan(c *cli.Context, folder string) (p samplePlan, err error) {
	ways := 0
	for _, name := range []string{"group", "samples", "pattern"} {
		if c.IsSet(name) {
			ways++
		}
	}
	if ways > 1 {
		return p, usageError("--group, --samples and --pattern each say what a sample is; give one of them")
	}
	p = samplePlan{folder: folder, table: c.String("samples"), harvest: c.String("harvest")}
	if p.harvest == "" {
		p.harvest, p.optional = filepath.Join(folder, "harvest.csv"), true
	}
	switch group := pipeline.Group(c.String("group")); {
	case p.table != "":
	case c.IsSet("pattern"):
		if p.group, err = pipeline.ByPattern(c.String("pattern")); err != nil {
			return p, withHint(usageErrorf("--pattern %q: %v", c.String("pattern"), err), "gristmark batch photos --out results --pattern '{sample}_{n}.jpg'")
		}
	case slices.Contains([]pipeline.Group{pipeline.ByFolder, pipeline.ByName, pipeline.ByPhoto}, group):
		p.group = pipeline.ByGroup(group)
	default:
		return p, usageErrorf("--group %q: choose folder, name or photo", group)
	}
	return p, nil
}

// tables are the files that the samples depend on beside their photos.
func (p samplePlan) tables() []string {
	if p.table == "" {
		return []string{p.harvest}
	}
	return []string{p.table, p.harvest}
}

// found is what the plan makes of a folder.
type found struct {
	samples []pipeline.Batch
	left    []string           // photos of no sample
	unused  []harvestfile.Load // loads without a sample
	untold  []string           // samples without a load, where there are loads
}

// gather reads the tables and groups the photos: these, or all that lie in the folder where photos is nil.
func (p samplePlan) gather(photos []string) (f found, err error) {
	group := p.group
	if p.table != "" {
		data, err := readLimited(p.table, harvestfile.MaxBytes)
		if err != nil {
			return f, err
		}
		table, err := harvestfile.Photos(p.table, data)
		if err != nil {
			return f, err
		}
		group = pipeline.ByTable(p.table, table)
	}
	loads, err := p.loads()
	if err != nil {
		return f, err
	}
	if photos == nil {
		f.samples, f.left, err = pipeline.Gather(p.folder, group)
	} else {
		f.samples, f.left, err = pipeline.GatherPhotos(p.folder, photos, group)
	}
	if err == nil && loads != nil {
		f.unused, f.untold = pipeline.AddSettings(f.samples, loads)
	}
	return f, err
}

func (p samplePlan) loads() ([]harvestfile.Load, error) {
	if _, err := os.Stat(p.harvest); p.optional && errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	data, err := readLimited(p.harvest, harvestfile.MaxBytes)
	if err != nil {
		return nil, err
	}
	return harvestfile.Loads(p.harvest, data)
}

// gather finds the samples and what each is judged by, and says what belongs to none.
func (b *batchJob) gather(c *cli.Context, photos []string) error {
	f, err := b.plan.gather(photos)
	if err != nil {
		return b.refuseTable(complaints(c), err)
	}
	opts := make([]pipeline.Options, len(f.samples))
	for i, s := range f.samples {
		if opts[i], err = b.optionsFor(c, s); err != nil {
			return err
		}
		if err := advice.GuardWaterTest(opts[i].Context.State, opts[i].Show); err != nil {
			f.samples[i].Refused = map[string]string{}
			for _, p := range s.Photos {
				f.samples[i].Refused[p] = strings.TrimPrefix(err.Error(), "advice: ")
			}
		}
	}
	b.samples, b.opts = f.samples, opts
	if b.tally.said(f) {
		return nil
	}
	if n := len(f.left); n > 0 {
		fmt.Fprintf(complaints(c), "gristmark: %s\n", b.words.T("%s left out, being of no sample: %s", b.words.T("%d photos", n), someOf(f.left)))
	}
	if len(f.unused) > 0 {
		var names []string
		for _, l := range f.unused {
			names = append(names, l.Settings.Load)
		}
		fmt.Fprintf(c.App.ErrWriter, "gristmark: %s\n", b.words.T("%s tells of loads without photos here: %s", b.plan.harvest, someOf(names)))
	}
	if len(f.untold) > 0 {
		fmt.Fprintf(c.App.ErrWriter, "gristmark: %s\n", b.words.T("%s tells nothing of: %s", b.plan.harvest, someOf(f.untold)))
	}
	return nil
}

// someOf lists names, the first ten of them.
func someOf(names []string) string {
	const most = 10
	if n := len(names); n > most {
		return strings.Join(names[:most], ", ") + fmt.Sprintf(" … (+%d)", n-most)
	}
	return strings.Join(names, ", ")
}

// refuseTable tells the faults of a table, a line each.
func (b *batchJob) refuseTable(w io.Writer, err error) error {
	var faults harvestfile.Faults
	if !errors.As(err, &faults) {
		var refused refusedError
		if errors.As(err, &refused) || errors.Is(err, os.ErrNotExist) {
			return err
		}
		return refusedError(strings.TrimPrefix(err.Error(), "pipeline: "))
	}
	lines := strings.Split(faults.Error(), "\n")
	for _, line := range lines[:len(lines)-1] {
		fmt.Fprintf(w, "gristmark: %s\n", line)
	}
	return withHint(refusedError(lines[len(lines)-1]), "nothing was measured; correct the table and run the same command again")
}

// optionsFor are the options by which a sample is judged: what is told of it goes before the command line.
func (b *batchJob) optionsFor(c *cli.Context, s pipeline.Batch) (pipeline.Options, error) {
	opt := b.opt
	told := s.Settings.Over(harvestfile.FromContext(opt.Context))
	opt.Context = harvestfile.Context(told)
	if opt.Context.Process == b.opt.Context.Process {
		return opt, nil
	}
	var err error
	opt.Targets, err = targetOption(c.String("targets"), opt.Context.Process)
	return opt, err
}
