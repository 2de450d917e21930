package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/calib/card"
)

func init() { register(cardCommand) }

func cardCommand() *cli.Command {
	return &cli.Command{
		Name:      "card",
		Usage:     "draw the printable ruler card or tray mat",
		ArgsUsage: " ",
		Description: "Draws the ruler card (150 x 40 mm) to lay on the tray, or a tray mat to work on.\n" +
			"The ending of --out picks the format: .pdf is a page to print at 100 % with cut marks and a\n" +
			"100 mm check line; .png and .svg hold the card or mat edge to edge.",
		Flags: []cli.Flag{
			&cli.StringFlag{Name: "out", Aliases: []string{"o"}, Usage: "write to `FILE`, ending in .pdf, .png or .svg", Required: true},
			&cli.StringFlag{Name: "form", Value: "card", Usage: "card or mat"},
			&cli.Float64Flag{Name: "dpi", Value: 300, Usage: "dots per inch of a PNG"},
			&cli.StringFlag{Name: "paper", Value: "a4", Usage: "a4, letter or a3: the page of a PDF and the size of the mat"},
		},
		Action: runCard,
	}
}

func runCard(c *cli.Context) error {
	if c.NArg() > 0 {
		return usageErrorf("card takes no argument, but got %q", c.Args().First())
	}
	sheet, paper, err := chooseSheet(c.String("form"), c.String("paper"))
	if err != nil {
		return err
	}
	out := c.String("out")
	var b bytes.Buffer
	switch strings.ToLower(filepath.Ext(out)) {
	case ".pdf":
		err = sheet.WritePDF(&b, paper)
	case ".svg":
		err = sheet.WriteSVG(&b)
	case ".png":
		dpi := c.Float64("dpi")
		if limit := dpiLimit(sheet); !(dpi >= minDPI && dpi <= limit) {
			return usageErrorf("--dpi %g: choose between %d and %.0f for %s", dpi, minDPI, limit, sheet.Name)
		}
		err = sheet.WritePNG(&b, dpi)
	default:
		return usageErrorf("--out %q: the file must end in .pdf, .png or .svg", out)
	}
	if err != nil {
		return err
	}
	if err := os.WriteFile(out, b.Bytes(), 0o644); err != nil {
		return err
	}
	say := wordsOf(c)
	_, err = fmt.Fprintln(c.App.ErrWriter, say.T("%s: %s, %s x %s %s; print at 100 %%, then check it against a rule",
		out, say.T(sheet.Name), say.Limit(sheet.WidthMM), say.Limit(sheet.HeightMM), say.LengthUnit()))
	return err
}

const (
	minDPI       = 36
	maxPNGPixels = 100e6
)

// dpiLimit keeps the PNG of a sheet within memory.
func dpiLimit(s card.Sheet) float64 {
	limit := 2400.0
	for s.WidthMM*s.HeightMM*limit*limit/25.4/25.4 > maxPNGPixels {
		limit -= 100
	}
	return limit
}

// chooseSheet picks the sheet for a form and a paper.
func chooseSheet(form, paper string) (card.Sheet, card.Paper, error) {
	p, err := card.PaperNamed(paper)
	if err != nil {
		return card.Sheet{}, p, usageErrorf("--paper %q: choose a4, letter or a3", paper)
	}
	switch form {
	case "card":
		return card.Card(), p, nil
	case "mat":
		switch p.Name {
		case "a4":
			return card.MatA4(), p, nil
		case "a3":
			return card.MatA3(), p, nil
		}
		return card.Sheet{}, p, usageErrorf("the mat comes in a4 and a3: it does not fit on %s", p.Name)
	}
	return card.Sheet{}, p, usageErrorf("--form %q: choose card or mat", form)
}
