package main

import (
	"fmt"
	"io"

	"github.com/urfave/cli/v2"

	"gristmark/internal/cup"
	"gristmark/internal/plain"
)

func init() { register(cupCommand) }

func cupCommand() *cli.Command {
	return &cli.Command{
		Name:      "cup",
		Usage:     "judge whole and half kernels by the level cup",
		ArgsUsage: "[DOCUMENT]",
		Description: "DOCUMENT is the measurement document of photos that show all kernels of one level cup of chop each;\n" +
			"--count gives the number counted by hand instead. Interval by the exact Poisson law.",
		Flags: []cli.Flag{
			&cli.IntFlag{Name: "count", Usage: "whole and half kernels counted by hand, `N`"},
			&cli.IntFlag{Name: "cups", Usage: "cups that the count is of, `N`; default one a photo"},
			&cli.Float64Flag{Name: "litres", Value: cup.Litres, Usage: "content of a cup, `L`"},
			&cli.Float64Flag{Name: "risk", Value: 0.05, Usage: "chance of a wrong answer when 2 a cup is told from 4"},
			&cli.BoolFlag{Name: "json", Usage: "print the cup document, and nothing else"},
		},
		Action: runCup,
	}
}

func runCup(c *cli.Context) error {
	count, cups, err := cupCount(c)
	if err != nil {
		return err
	}
	doc, err := cup.Judge(count, cups, c.Float64("litres"), c.Float64("risk"))
	if err != nil {
		return usageError(err.Error())
	}
	doc.Version = programVersion()
	if c.Bool("json") {
		return writeJSON(c.App.Writer, doc)
	}
	return writeCup(c.App.Writer, doc)
}

func cupCount(c *cli.Context) (count, cups int, err error) {
	switch {
	case c.IsSet("count") && c.NArg() > 0, !c.IsSet("count") && c.NArg() != 1:
		return 0, 0, withHint(usageError("cup takes one measurement document, or --count"), "gristmark cup --count 5 --cups 2")
	case c.IsSet("count"):
		count, cups = c.Int("count"), 1
	default:
		name := c.Args().First()
		data, err := readLimited(name, maxDocumentBytes)
		if err != nil {
			return 0, 0, err
		}
		doc, err := parseDocument(name, data)
		if err != nil {
			return 0, 0, err
		}
		if count, cups = cup.CountPhotos(doc.Photos); cups == 0 {
			return 0, 0, refusedErrorf("%s has no measured photo", name)
		}
	}
	if c.IsSet("cups") {
		cups = c.Int("cups")
	}
	return count, cups, nil
}

func writeCup(w io.Writer, d *cup.Document) error {
	e, l := d.PerCup, d.PerLitre
	words := map[string]string{cup.Good: "Good", cup.Fair: "Fair", cup.Poor: "Poor", cup.Undecided: "Undecided"}[d.Verdict]
	text := plain.Hang("", fmt.Sprintf("%s: %.1f whole and half kernels a cup of 0.946 l, 95 %% %.1f to %.1f.", words, e.Value, e.Low, e.High)) + "\n" +
		plain.Hang("Counted: ", fmt.Sprintf("%d in %d of %s l; %.1f a litre, %.1f to %.1f.", d.Count, d.Cups, plain.Number(d.Litres, 3), l.Value, l.Low, l.High)) +
		plain.Hang("Marks: ", "at most 2 a cup is good, 2 to 4 fair, more poor (trade press).") +
		plain.Hang("To tell 2 from 4: ", fmt.Sprintf("%d cups, at a risk of %s %%.", d.CupsToDo, plain.Number(100*d.Risk, 1)))
	_, err := io.WriteString(w, text)
	return err
}
