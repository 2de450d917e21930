package main

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"regexp"
	"strings"

	"github.com/urfave/cli/v2"
	"golang.org/x/term"

	"gristmark/internal/pipeline"
	"gristmark/internal/report"
	"gristmark/internal/result"
)

func init() { register(measureCommand) }

func measureCommand() *cli.Command {
	return &cli.Command{
		Name:      "measure",
		Usage:     "measure the photos of one sample and print the judgement",
		ArgsUsage: "PHOTO...",
		Description: "Photos are JPEG, PNG, TIFF, WebP or HEIC files of one sample spread on a tray, with the ruler\n" +
			"card or mat in view (gristmark card draws them). Several photos of one sample narrow the interval.",
		Flags: append(append(append(photoFlags(), boxFlags()...), reviewFlags()...),
			&cli.BoolFlag{Name: "json", Usage: "print the measurement document, and nothing else"},
			&cli.BoolFlag{Name: "outlines", Usage: "add the outline of each particle to the document"},
			&cli.StringFlag{Name: "overlay", Usage: "write a marked-up copy of each photo into `DIR`"},
		),
		Action: runMeasure,
	}
}

func runMeasure(c *cli.Context) error {
	files, boxes := c.Args().Slice(), c.IsSet("box") || c.IsSet("boxes")
	if len(files) == 0 && !boxes && !c.IsSet("from") {
		return withHint(usageError("measure needs at least one photo"), "gristmark measure tray.jpg")
	}
	if err := cmp.Or(checkReviewFlags(c, len(files) > 0, boxes), unsureFile(c, files)); err != nil {
		return err
	}
	opt, err := photoOptions(c)
	if err != nil {
		return err
	}
	list, err := readCorrections(c.String("review"))
	if err != nil {
		return err
	}
	if c.IsSet("from") {
		return runFrom(c, opt, list)
	}
	opt.Picture = c.String("overlay") != ""
	if boxes {
		return runBoxes(c, opt)
	}
	outcome, err := pipeline.Default(programVersion()).Run(c.Context, files, opt)
	if err != nil {
		return interrupted(c.Context, err)
	}
	sayRefused(c, outcome.Document.Photos)
	if err := review(outcome, c.String("review"), list, opt); err != nil {
		return err
	}
	if opt.Picture {
		if err := sayOverlays(c, outcome, files, c.String("overlay")); err != nil {
			return err
		}
	}
	return tellMeasured(c, outcome, opt)
}

// uncorrected says why the correction asked for was not applied.
func uncorrected(o *pipeline.Outcome) error {
	if o.Uncorrected == nil {
		return nil
	}
	return refusedErrorf("not corrected to the laboratory: %s", strings.TrimPrefix(o.Uncorrected.Error(), "lab: "))
}

func sayOverlays(c *cli.Context, outcome *pipeline.Outcome, inputs []string, dir string) error {
	names, err := writeOverlays(dir, outcome, inputs, wordsOf(c))
	if err != nil {
		return err
	}
	for _, name := range names {
		fmt.Fprintln(c.App.ErrWriter, wordsOf(c).T("overlay: %s", name))
	}
	return nil
}

// sayRefused tells why photos were refused, a line each.
func sayRefused(c *cli.Context, photos []result.Photo) {
	w := wordsOf(c)
	for _, p := range photos {
		if p.Status == result.Refused {
			fmt.Fprintf(complaints(c), "gristmark: %s\n", w.T("%s: refused: %s", p.File, w.Say(*p.Problem)))
		}
	}
}

func refusedPhotos(o *pipeline.Outcome) error {
	refused, all := o.Refused(), len(o.Document.Photos)
	switch {
	case refused == 0:
		return nil
	case all == 1:
		return refusedError("the photo was refused, so there is nothing to judge")
	case refused == all:
		return refusedErrorf("all %d photos were refused, so there is nothing to judge", all)
	}
	return refusedErrorf("%d of %d photos were refused; the judgement rests on the others", refused, all)
}

// interrupted explains an error that came of the user's signal; others pass.
func interrupted(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return fmt.Errorf("interrupted")
	}
	return err
}

var pairOfNumbers = regexp.MustCompile(`\[\s+(-?[0-9.e+-]+),\s+(-?[0-9.e+-]+)\s+\]`)

// writeDocument prints the measurement document, positions on one line each.
func writeDocument(w io.Writer, doc result.Document, outlines bool) error {
	data, err := documentJSON(doc, outlines)
	if err != nil {
		return err
	}
	_, err = w.Write(data)
	return err
}

func documentJSON(doc result.Document, outlines bool) ([]byte, error) {
	if !outlines {
		doc = withoutOutlines(doc)
	}
	data, err := json.MarshalIndent(doc, "", " ")
	if err != nil {
		return nil, fmt.Errorf("the measurement document cannot be written: %w", err)
	}
	return append(pairOfNumbers.ReplaceAll(data, []byte("[$1, $2]")), '\n'), nil
}

func withoutOutlines(doc result.Document) result.Document {
	photos := make([]result.Photo, len(doc.Photos))
	for i, p := range doc.Photos {
		particles := make([]result.Particle, len(p.Particles))
		for k, q := range p.Particles {
			q.OutlinePx = nil
			particles[k] = q
		}
		p.Particles = particles
		photos[i] = p
	}
	doc.Photos = photos
	return doc
}

// paintFor colours only a terminal, and not where NO_COLOR is set (no-color.org).
func paintFor(c *cli.Context) report.Paint {
	w := c.App.Writer
	if f, ok := w.(*faultWriter); ok {
		w = f.w
	}
	f, ok := w.(*os.File)
	return report.Paint{Words: wordsOf(c), On: ok && os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb" && term.IsTerminal(int(f.Fd()))}
}
