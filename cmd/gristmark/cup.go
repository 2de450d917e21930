package main

import (
	"cmp"
	"io"

	"github.com/urfave/cli/v2"

	"gristmark/internal/cup"
	"gristmark/internal/pipeline"
	"gristmark/internal/plain"
	"gristmark/internal/result"
	"gristmark/internal/words"
)

func init() { register(cupCommand) }

func cupCommand() *cli.Command {
	return &cli.Command{
		Name:      "cup",
		Usage:     "judge whole and half kernels by the level cup",
		ArgsUsage: "[PHOTO... | DOCUMENT]",
		Description: "Each PHOTO shows all kernels picked out of one level cup of chop; DOCUMENT is the measurement document of\n" +
			"such photos; --count gives the number counted by hand instead. Interval by the exact Poisson law.\n" +
			"The options of measure apply to photos; --show is kernels if it is not given.",
		Flags: append([]cli.Flag{
			&cli.IntFlag{Name: "count", Usage: "whole and half kernels counted by hand, `N`"},
			&cli.IntFlag{Name: "cups", Usage: "cups that the count is of, `N`; default one a photo"},
			&cli.Float64Flag{Name: "litres", Value: cup.Litres, Usage: "content of a cup, `L`"},
			&cli.Float64Flag{Name: "risk", Value: 0.05, Usage: "chance of a wrong answer when 2 a cup is told from 4"},
			&cli.BoolFlag{Name: "json", Usage: "print the cup document, and nothing else"},
		}, photoFlags()...),
		Action: runCup,
	}
}

func runCup(c *cli.Context) error {
	count, cups, refused, err := cupCount(c)
	if err != nil {
		return err
	}
	if c.IsSet("cups") {
		cups = c.Int("cups")
	}
	doc, err := cup.Judge(count, cups, c.Float64("litres"), c.Float64("risk"))
	if err != nil {
		return usageError(err.Error())
	}
	doc.Version = programVersion()
	if c.Bool("json") {
		err = writeJSON(c.App.Writer, doc)
	} else {
		err = writeCup(c.App.Writer, doc, wordsOf(c))
	}
	return cmp.Or(err, refused)
}

// cupCount counts by hand, from a document or from photos; refused says that some photos were refused while others stand.
func cupCount(c *cli.Context) (count, cups int, refused, err error) {
	if c.IsSet("count") == (c.NArg() > 0) {
		return 0, 0, nil, withHint(usageError("cup takes photos, a measurement document, or --count"), "gristmark cup --count 5 --cups 2")
	}
	if c.IsSet("count") {
		return c.Int("count"), 1, nil, nil
	}
	photos, refused, err := cupPhotos(c)
	if err != nil {
		return 0, 0, nil, err
	}
	if count, cups = cup.CountPhotos(photos); cups == 0 {
		return 0, 0, nil, cmp.Or(refused, refusedErrorf("%s has no measured photo", c.Args().First()))
	}
	return count, cups, refused, nil
}

// cupPhotos reads one document, or measures photos.
func cupPhotos(c *cli.Context) (photos []result.Photo, refused, err error) {
	name := c.Args().First()
	if c.NArg() == 1 {
		data, err := readLimited(name, maxDocumentBytes)
		if err != nil {
			return nil, nil, err
		}
		if looksLikeJSON(data) {
			doc, err := parseDocument(name, data)
			if err != nil {
				return nil, nil, err
			}
			return doc.Photos, nil, nil
		}
	}
	opt, err := photoOptions(c)
	if err != nil {
		return nil, nil, err
	}
	if !c.IsSet("show") {
		opt.Show = pipeline.ShowKernels // picked out by hand, so of any state
	}
	outcome, err := pipeline.Default(programVersion()).Run(c.Context, c.Args().Slice(), opt)
	if err != nil {
		return nil, nil, interrupted(c.Context, err)
	}
	sayRefused(c, outcome.Document.Photos)
	return outcome.Document.Photos, refusedPhotos(outcome), nil
}

func writeCup(w io.Writer, d *cup.Document, say *words.Words) error {
	e, l := d.PerCup, d.PerLitre
	verdict := map[string]string{cup.Good: say.T("Good"), cup.Fair: say.T("Fair"), cup.Poor: say.T("Poor"), cup.Undecided: say.T("Undecided")}[d.Verdict]
	one := func(v float64) string { return say.Number(v, 1) }
	per := func(v float64) string { return one(say.PerVolume(v)) }
	unit := say.T("litre")
	if say.Units() == words.US {
		unit = say.T("quart")
	}
	text := plain.Hang("", say.T("%s: %s whole and half kernels a cup of %s, 95 %% %s to %s.", verdict, one(e.Value), say.Volume(cup.Litres), one(e.Low), one(e.High))) + "\n" +
		plain.Hang(say.T("Counted:")+" ", say.T("%d in %d of %s; %s a %s, %s to %s.", d.Count, d.Cups, say.Volume(d.Litres), per(l.Value), unit, per(l.Low), per(l.High))) +
		plain.Hang(say.T("Marks:")+" ", say.T("at most 2 a cup is good, 2 to 4 fair, more poor (trade press).")) +
		plain.Hang(say.T("To tell 2 from 4:")+" ", say.T("%d cups, at a risk of %s %%.", d.CupsToDo, say.Trimmed(100*d.Risk, 1)))
	_, err := io.WriteString(w, text)
	return err
}
