package main

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/internal/advice"
	"gristmark/internal/lab"
	"gristmark/internal/plain"
	"gristmark/internal/result"
)

func init() { register(labCommand) }

func labCommand() *cli.Command {
	return &cli.Command{
		Name:  "lab",
		Usage: "fit and apply a farm's own correction to the laboratory",
		Description: "From pairs of photo estimate and laboratory score. Without a correction every figure is from outlines,\n" +
			"not corrected to a laboratory; with one it is named, and it is an estimate still.",
		Subcommands: []*cli.Command{labFitCommand(), labApplyCommand()},
		Action: func(c *cli.Context) error {
			return withHint(usageErrorf("lab needs fit or apply, but got %q", c.Args().First()), "gristmark lab fit pairs.csv --out farm.json")
		},
	}
}

func labFitCommand() *cli.Command {
	return &cli.Command{
		Name:      "fit",
		Usage:     "fit a correction from pairs",
		ArgsUsage: "PAIRS",
		Description: "PAIRS is a CSV or XLSX with the columns photo_pct and lab_pct, and if known photo_sd (or photo_low and\n" +
			"photo_high, the 95 % interval), lab_sd, state (fresh or fermented) and name. At least 5 pairs over a\n" +
			"range of 10 points; fresh and fermented lots are never mixed.",
		Flags: []cli.Flag{
			&cli.StringFlag{Name: "name", Usage: "`NAME` of the correction, for every output that it touches; default the file's"},
			&cli.StringFlag{Name: "out", Aliases: []string{"o"}, Usage: "store the correction in `FILE`, a .json"},
			&cli.BoolFlag{Name: "json", Usage: "print the correction, and nothing else"},
		},
		Action: runLabFit,
	}
}

func labApplyCommand() *cli.Command {
	return &cli.Command{
		Name:        "apply",
		Usage:       "apply a stored correction to a measurement document",
		ArgsUsage:   "CORRECTION DOCUMENT",
		Description: "Corrects passing_4_75_pct with its interval, judges it anew and names the correction as its basis.",
		Flags: append([]cli.Flag{
			&cli.StringFlag{Name: "targets", Usage: "target `FILE` in place of the built-in sets"},
			&cli.BoolFlag{Name: "json", Usage: "print the corrected measurement document, and nothing else"},
		}, contextFlags()...),
		Action: runLabApply,
	}
}

// maxPairsBytes bounds a table of pairs and a stored correction.
const maxPairsBytes = 4 << 20

func runLabFit(c *cli.Context) error {
	if c.NArg() != 1 {
		return usageErrorf("lab fit takes one table of pairs, but got %d", c.NArg())
	}
	file := c.Args().First()
	data, err := readLimited(file, maxPairsBytes)
	if err != nil {
		return err
	}
	pairs, err := lab.ParsePairs(data)
	if err != nil {
		return refusedErrorf("%s: %v", file, err)
	}
	name := c.String("name")
	if name == "" {
		name = strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))
	}
	fitted, err := lab.Fit(name, pairs)
	if err != nil {
		return refusedErrorf("%s: %v", file, err)
	}
	if out := c.String("out"); out != "" {
		if err := storeJSON(out, fitted); err != nil {
			return err
		}
		fmt.Fprintf(c.App.ErrWriter, "correction: %s\n", out)
	}
	if c.Bool("json") {
		return writeJSON(c.App.Writer, fitted)
	}
	return writeCorrection(c.App.Writer, fitted)
}

func storeJSON(path string, v any) error {
	var b bytes.Buffer
	if err := writeJSON(&b, v); err != nil {
		return err
	}
	return os.WriteFile(path, b.Bytes(), 0o644)
}

func writeCorrection(w io.Writer, f *lab.Correction) error {
	var b strings.Builder
	mid := (f.LowPct + f.HiPct) / 2
	at := f.Predict(mid, f.PhotoSD)
	b.WriteString(plain.Hang("", fmt.Sprintf("Correction %q: laboratory = %.1f + %.2f × photo, from %d pairs between %.0f and %.0f %%.",
		f.Name, f.Line.Intercept, f.Line.Slope, f.Line.N, f.LowPct, f.HiPct)))
	b.WriteString(plain.Hang("", fmt.Sprintf("A photo estimate of %.0f %% means a laboratory score of %.0f %%, 95 %% of them %.0f to %.0f.", mid, at.Value, at.Low, at.High)) + "\n")
	b.WriteString(plain.Hang("Slope: ", fmt.Sprintf("%.3f, standard error %.3f; intercept %.2f, %.2f (errors in both variables, York et al. 2004).", f.Line.Slope, f.Line.SlopeSE, f.Line.Intercept, f.Line.InterceptSE)))
	fit := "the stated errors explain the scatter"
	if f.LackOfP < 0.05 {
		fit = fmt.Sprintf("the scatter is more than the stated errors explain, %.1f points are left over and widen the interval", f.ExtraSD)
	}
	b.WriteString(plain.Hang("Lack of fit: ", fmt.Sprintf("chi² %.1f on %d degrees of freedom, p %.3f: %s.", f.Line.Chi2, f.Line.N-2, f.LackOfP, fit)))
	for _, p := range f.Leverage {
		if p.High {
			b.WriteString(plain.Hang("Leverage: ", fmt.Sprintf("the line hangs on row %d %s (%.2f); add pairs near it.", p.Row, p.Name, p.Leverage)))
		}
	}
	if f.Assumed != "" {
		b.WriteString(plain.Hang("Assumed: ", f.Assumed+"."))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func runLabApply(c *cli.Context) error {
	if c.NArg() != 2 {
		return withHint(usageErrorf("lab apply takes a correction and a measurement document, but got %d", c.NArg()), "gristmark lab apply farm.json sample.json")
	}
	correction, err := readCorrection(c.Args().Get(0))
	if err != nil {
		return err
	}
	ctx, err := contextOptions(c)
	if err != nil {
		return err
	}
	name := c.Args().Get(1)
	data, err := readLimited(name, maxDocumentBytes)
	if err != nil {
		return err
	}
	doc, err := parseDocument(name, data)
	if err != nil {
		return err
	}
	catalogue, err := loadCatalogue(c.String("targets"))
	if err != nil {
		return err
	}
	if err := correct(correction, doc, ctx, catalogue); err != nil {
		return refusedErrorf("%s: %v", name, err)
	}
	if c.Bool("json") {
		return writeJSON(c.App.Writer, doc)
	}
	k := doc.Sample.Kernels
	_, err = io.WriteString(c.App.Writer, plain.Hang("", fmt.Sprintf("Kernels: %.0f %% through 4.75 mm, 95 %% %.0f to %.0f: %s.",
		k.Passing475Pct.Value, k.Passing475Pct.Low, k.Passing475Pct.High, strings.ReplaceAll(*doc.Sample.Verdict.Kernels, "_", " ")))+plain.Hang("Basis: ", k.Basis+"."))
	return err
}

// readCorrection reads a stored correction.
func readCorrection(file string) (*lab.Correction, error) {
	data, err := readLimited(file, maxPairsBytes)
	if err != nil {
		return nil, err
	}
	c, err := lab.Load(data)
	if err != nil {
		return nil, refusedErrorf("%s: %v", file, err)
	}
	return c, nil
}

// correct applies a correction to a document and judges the sample anew by the targets that it was judged by.
func correct(correction *lab.Correction, doc *result.Document, ctx advice.Context, catalogue advice.Catalogue) error {
	if err := correction.Apply(doc.Sample, ctx.State); err != nil {
		return err
	}
	set, err := catalogue.Find(doc.Sample.Verdict.Targets)
	if err != nil {
		set = catalogue.Sets[0]
	}
	ctx.State = cmp.Or(ctx.State, doc.Sample.State)
	doc.Sample.State = ctx.State
	doc.Sample.Verdict, doc.Sample.Advice = advice.Judge(doc.Sample, ctx, set)
	if doc.Sample.Verdict.Kernels == nil {
		return fmt.Errorf("the target set %s has no mark for kernels", set.Name)
	}
	return nil
}
