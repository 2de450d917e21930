package main

import (
	"bytes"
	"cmp"
	"fmt"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/internal/estimate"
	"gristmark/internal/judge"
	"gristmark/internal/pipeline"
	"gristmark/internal/report"
	"gristmark/internal/result"
)

// maxReviewBytes bounds a table of corrections.
const maxReviewBytes = 4 << 20

// reviewFlags are those of measure for what a person names.
func reviewFlags() []cli.Flag {
	return []cli.Flag{
		&cli.StringFlag{Name: "review", Usage: "recompute with the classes that `TABLE` gives: a CSV with the columns id and class (whole_kernel, broken_kernel, stover, none), and photo where there are several"},
		&cli.StringFlag{Name: "unsure", Usage: "write the pieces without a class into `TABLE`.csv, to fill in and give to --review; the overlay shows their numbers"},
		&cli.StringFlag{Name: "from", Usage: "take the measurement `DOCUMENT` of measure --json in place of photos, and judge it anew"},
	}
}

// readCorrections reads the table that --review names; none without it.
func readCorrections(file string) ([]estimate.Correction, error) {
	if file == "" {
		return nil, nil
	}
	data, err := readLimited(file, maxReviewBytes)
	if err != nil {
		return nil, err
	}
	list, err := judge.ParseCorrections(data)
	return list, refusedTable(file, err)
}

// refusedTable says what is wrong with the table of corrections.
func refusedTable(file string, err error) error {
	if err == nil {
		return nil
	}
	text := err.Error()
	for _, prefix := range []string{"judge: ", "estimate: "} {
		text = strings.TrimPrefix(text, prefix)
	}
	return refusedErrorf("%s: %s", file, text)
}

// review puts the corrections into a measured sample.
func review(outcome *pipeline.Outcome, file string, list []estimate.Correction, opt pipeline.Options) error {
	if file == "" {
		return nil
	}
	doc, uncorrected, err := judge.Review(outcome.Document, list, opt.Judging())
	if err != nil {
		return refusedTable(file, err)
	}
	outcome.Document, outcome.Uncorrected = doc, uncorrected
	return nil
}

// sayUnsure writes the pieces without a class into a table, and says how many they are.
func sayUnsure(c *cli.Context, doc result.Document) error {
	file := c.String("unsure")
	if file == "" {
		return nil
	}
	var b bytes.Buffer
	if err := judge.WriteUnsure(&b, doc.Photos); err != nil {
		return err
	}
	if err := pipeline.WriteFile(file, b.Bytes()); err != nil {
		return err
	}
	fmt.Fprintln(c.App.ErrWriter, wordsOf(c).T("unsure: %d piece(s) in %s", judge.Unsure(doc.Photos), file))
	return nil
}

// checkReviewFlags refuses options that do not go together.
func checkReviewFlags(c *cli.Context, photos, boxes bool) error {
	if boxes {
		for _, name := range []string{"review", "unsure", "from"} {
			if c.IsSet(name) {
				return usageErrorf("--%s does not go with --box or --boxes; measure the photos of one box by themselves", name)
			}
		}
	}
	if !c.IsSet("from") {
		return nil
	}
	if photos {
		return usageError("--from takes the place of photos; give one or the other")
	}
	for _, name := range []string{"overlay", "scale", "profile"} {
		if c.IsSet(name) {
			return usageErrorf("--%s needs the photos; --from has only what was measured on them", name)
		}
	}
	return nil
}

// runFrom judges a measurement document anew, with the names that a person gave.
func runFrom(c *cli.Context, opt pipeline.Options, list []estimate.Correction) error {
	file := c.String("from")
	data, err := readLimited(file, maxDocumentBytes)
	if err != nil {
		return err
	}
	doc, err := parseDocument(file, data)
	if err != nil {
		return err
	}
	if err := sameJudgement(c, file, doc); err != nil {
		return err
	}
	if !c.IsSet("show") {
		opt.Show = cmp.Or(doc.Show, opt.Show)
	}
	reviewed, uncorrected, err := judge.Review(*doc, list, opt.Judging())
	if err != nil {
		return refusedTable(c.String("review"), err)
	}
	reviewed.Show, reviewed.Version = opt.Show, programVersion()
	outcome := &pipeline.Outcome{Document: reviewed, Uncorrected: uncorrected}
	return tellMeasured(c, outcome, opt)
}

// sameJudgement refuses to judge a document anew with less than it was judged with.
func sameJudgement(c *cli.Context, file string, doc *result.Document) error {
	if doc.Sample == nil || doc.Sample.Kernels == nil {
		return nil
	}
	k := doc.Sample.Kernels
	switch {
	case k.UnbrokenFrom != "" && k.UnbrokenFrom != "default" && k.UnbrokenFrom != "sample" && !c.IsSet("kernel"):
		return refusedErrorf("%s was judged with a kernel of this crop (%s); give --kernel again", file, k.UnbrokenFrom)
	case k.Outlines475Pct != nil && !c.IsSet("correction"):
		return refusedErrorf("%s was corrected to a laboratory; give --correction again", file)
	}
	return nil
}

// tellMeasured prints the sample as the options ask, and says what was refused.
func tellMeasured(c *cli.Context, outcome *pipeline.Outcome, opt pipeline.Options) error {
	err := sayUnsure(c, outcome.Document)
	switch {
	case err != nil:
	case c.Bool("json"):
		err = writeDocument(c.App.Writer, outcome.Document, c.Bool("outlines"))
	case outcome.Document.Sample != nil:
		err = report.Summary(c.App.Writer, outcome.Document, opt.Show, opt.Targets, paintFor(c))
	}
	if err != nil {
		return err
	}
	return cmp.Or(refusedPhotos(outcome), uncorrected(outcome))
}

// unsureFile refuses a table that would overwrite an input.
func unsureFile(c *cli.Context, inputs []string) error {
	file := c.String("unsure")
	if file == "" {
		return nil
	}
	for _, in := range append(inputs, c.String("review"), c.String("from")) {
		if err := notAnInput(file, []string{in}); err != nil {
			return usageErrorf("--unsure %s would overwrite an input; choose another name", file)
		}
	}
	return nil
}
