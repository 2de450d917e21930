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
	"gristmark/internal/report/plots"
	"gristmark/internal/result"
	"gristmark/internal/words"
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
			&cli.StringFlag{Name: "plot", Usage: "draw the pairs and the fitted line into `FILE`, ending in .png or .svg"},
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
		fmt.Fprintln(c.App.ErrWriter, wordsOf(c).T("correction: %s", out))
	}
	if err := plotPairs(c, fitted, pairs); err != nil {
		return err
	}
	if c.Bool("json") {
		return writeJSON(c.App.Writer, fitted)
	}
	return writeCorrection(c.App.Writer, fitted, wordsOf(c))
}

// plotPairs draws the pairs into the file of --plot, where it is given.
func plotPairs(c *cli.Context, fitted *lab.Correction, pairs []lab.Pair) error {
	out := c.String("plot")
	if out == "" {
		return nil
	}
	chart, err := plots.Laboratory(wordsOf(c), fitted, pairs)
	if err != nil {
		return err
	}
	var data []byte
	switch strings.ToLower(filepath.Ext(out)) {
	case ".png":
		data, err = chart.PNG(chartDPI)
	case ".svg":
		data, err = chart.SVG()
	default:
		return usageErrorf("--plot %q: the file must end in .png or .svg", out)
	}
	if err != nil {
		return err
	}
	if err := os.WriteFile(out, data, 0o644); err != nil {
		return err
	}
	_, err = fmt.Fprintln(c.App.ErrWriter, wordsOf(c).T("plot: %s", out))
	return err
}

func storeJSON(path string, v any) error {
	var b bytes.Buffer
	if err := writeJSON(&b, v); err != nil {
		return err
	}
	return os.WriteFile(path, b.Bytes(), 0o644)
}

func writeCorrection(w io.Writer, f *lab.Correction, say *words.Words) error {
	var b strings.Builder
	mid := (f.LowPct + f.HiPct) / 2
	at := f.Predict(mid, f.PhotoSD)
	n := say.Number
	b.WriteString(plain.Hang("", say.T("Correction %q: laboratory = %s + %s × photo, from %d pairs between %s and %s %%.",
		f.Name, n(f.Line.Intercept, 1), n(f.Line.Slope, 2), f.Line.N, n(f.LowPct, 0), n(f.HiPct, 0))))
	b.WriteString(plain.Hang("", say.T("A photo estimate of %s %% means a laboratory score of %s %%, 95 %% of them %s to %s.", n(mid, 0), n(at.Value, 0), n(at.Low, 0), n(at.High, 0))) + "\n")
	b.WriteString(plain.Hang(say.T("Slope:")+" ", say.T("%s, standard error %s; intercept %s, %s (errors in both variables, York et al. 2004).", n(f.Line.Slope, 3), n(f.Line.SlopeSE, 3), n(f.Line.Intercept, 2), n(f.Line.InterceptSE, 2))))
	fit := say.T("the stated errors explain the scatter")
	if f.LackOfP < 0.05 {
		fit = say.T("the scatter is more than the stated errors explain, %s points are left over and widen the interval", n(f.ExtraSD, 1))
	}
	b.WriteString(plain.Hang(say.T("Lack of fit:")+" ", say.T("chi² %s on %d degrees of freedom, p %s: %s.", n(f.Line.Chi2, 1), f.Line.N-2, n(f.LackOfP, 3), fit)))
	for _, p := range f.Leverage {
		if p.High {
			b.WriteString(plain.Hang(say.T("Leverage:")+" ", say.T("the line hangs on row %d %s (%s); add pairs near it.", p.Row, p.Name, n(p.Leverage, 2))))
		}
	}
	if f.Assumed != "" {
		b.WriteString(plain.Hang(say.T("Assumed:")+" ", say.Say(f.Assumed)+"."))
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
	k, say := doc.Sample.Kernels, wordsOf(c)
	n := func(v float64) string { return say.Number(v, 0) }
	text := say.T("%s %% through 4.75 mm, 95 %% %s to %s: %s.", n(k.Passing475Pct.Value), n(k.Passing475Pct.Low), n(k.Passing475Pct.High), say.Verdict(doc.Sample.Verdict.Kernels))
	_, err = io.WriteString(c.App.Writer, plain.Hang(say.T("Kernels:")+" ", text)+plain.Hang(say.T("Basis:")+" ", say.Say(k.Basis)+"."))
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
