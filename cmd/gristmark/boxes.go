package main

import (
	"errors"
	"path/filepath"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/internal/pipeline"
	"gristmark/internal/sieve"
	"gristmark/internal/weigh/ride"
)

// boxFlags are those of measure for kernels box by box.
func boxFlags() []cli.Flag {
	return []cli.Flag{
		&cli.GenericFlag{Name: "box", Value: &wordList{}, Usage: "kernels box by box: `NAME=PHOTO:MASS`, the photo of what lay in a box and its mass in g, or PHOTO:MASS/SHOWN where the photo shows a part; for each box, and again for a further photo. NAME is top, middle, lower, pan or an opening in mm; NAME=:MASS is a box without a photo"},
		&cli.StringFlag{Name: "boxes", Usage: "the same from a `TABLE`, a CSV or XLSX as sieve takes with a column photo (file names beside the table, several joined by +) and counted_g, the mass shown"},
		&cli.StringFlag{Name: "box-set", Value: sieve.Boxes()[0], Usage: "what top, middle and lower stand for: " + strings.Join(sieve.Boxes(), " or ")},
	}
}

// wordList is an option that may be given several times, commas and all.
type wordList struct{ words []string }

// Set adds a word.
func (w *wordList) Set(s string) error { w.words = append(w.words, s); return nil }

// String joins the words.
func (w *wordList) String() string { return strings.Join(w.words, " ") }

// boxInput is a box as the command line or a table gives it.
type boxInput struct {
	box   ride.Box
	files []string
}

// runBoxes measures the photos of each box and says where the kernels ride.
func runBoxes(c *cli.Context, opt pipeline.Options) error {
	if c.NArg() > 0 {
		return withHint(usageErrorf("with --box or --boxes there are no other photos, but got %q", c.Args().First()), "gristmark measure --box top=a.jpg:65 --box middle=b.jpg:240")
	}
	inputs, err := boxInputs(c)
	if err != nil {
		return err
	}
	boxes := make([]ride.Box, len(inputs))
	refused, all := 0, 0
	for i, in := range inputs {
		boxes[i] = in.box
		if len(in.files) == 0 {
			continue
		}
		outcome, err := pipeline.Default(programVersion()).Run(c.Context, in.files, opt)
		if err != nil {
			return interrupted(c.Context, err)
		}
		sayRefused(c, outcome.Document.Photos)
		refused, all = refused+outcome.Refused(), all+len(in.files)
		boxes[i].Photos = withoutOutlines(outcome.Document).Photos
		if c.Bool("outlines") {
			boxes[i].Photos = outcome.Document.Photos
		}
		if opt.Picture {
			if err := sayOverlays(c, outcome, in.files, filepath.Join(c.String("overlay"), boxFolder(in.box.Name))); err != nil {
				return err
			}
		}
	}
	doc, err := ride.Build(boxes, opt.Context.State)
	if err != nil {
		return refusedError(err.Error())
	}
	doc.Version = programVersion()
	if c.Bool("json") {
		err = writeJSON(c.App.Writer, doc)
	} else {
		err = doc.WriteText(c.App.Writer, wordsOf(c))
	}
	if err == nil && refused > 0 {
		err = refusedErrorf("%d of %d photos were refused; their boxes are not counted", refused, all)
	}
	return err
}

// boxFolder is a box's name as the name of a folder.
func boxFolder(name string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/\:<>|?*" `, r) {
			return '-'
		}
		return r
	}, name)
}

func boxInputs(c *cli.Context) ([]boxInput, error) {
	words := c.Generic("box").(*wordList).words
	switch {
	case c.IsSet("boxes") && len(words) > 0:
		return nil, usageError("give --box or --boxes, not both")
	case c.IsSet("boxes"):
		return tableBoxes(c.String("boxes"), c.String("box-set"))
	}
	var out []boxInput
	for _, word := range words {
		in, err := typedBox(word, c.String("box-set"))
		if err != nil {
			return nil, err
		}
		if out, err = addBox(out, in); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// typedBox reads NAME=PHOTO:MASS or NAME=PHOTO:MASS/SHOWN.
func typedBox(word, set string) (boxInput, error) {
	var in boxInput
	name, rest, named := strings.Cut(word, "=")
	colon := strings.LastIndex(rest, ":")
	if !named || colon < 0 {
		return in, withHint(usageErrorf("--box %q: write NAME=PHOTO:MASS", word), "gristmark measure --box middle=middle.jpg:240")
	}
	in.box.Name = strings.TrimSpace(name)
	var err error
	if in.box.OpeningMM, err = sieve.Opening(in.box.Name, set); err != nil {
		return in, usageErrorf("--box %q: %s", word, strings.TrimPrefix(err.Error(), "sieve: "))
	}
	mass, shown, part := strings.Cut(rest[colon+1:], "/")
	if in.box.MassG, err = sieve.ParseGrams(mass); err == nil && part {
		in.box.ShownG, err = sieve.ParseGrams(shown)
		if err == nil && in.box.ShownG == 0 {
			err = errors.New("a photo that shows 0 g counts for nothing")
		}
	}
	if err != nil {
		return in, usageErrorf("--box %q: %s", word, strings.TrimPrefix(err.Error(), "sieve: "))
	}
	if photo := rest[:colon]; photo != "" {
		in.files = []string{photo}
	}
	return in, nil
}

// addBox adds a box, or a further photo of one that is there.
func addBox(list []boxInput, in boxInput) ([]boxInput, error) {
	for i := range list {
		have := &list[i]
		if have.box.OpeningMM != in.box.OpeningMM {
			continue
		}
		switch {
		case have.box.MassG != in.box.MassG:
			return nil, usageErrorf("the box %s weighs %g g once and %g g another time; give its whole mass with each photo", in.box.Name, have.box.MassG, in.box.MassG)
		case (have.box.ShownG > 0) != (in.box.ShownG > 0):
			return nil, usageErrorf("of the box %s one photo tells the mass it shows and another does not; tell it of both or of none", in.box.Name)
		}
		have.box.ShownG += in.box.ShownG
		have.files = append(have.files, in.files...)
		return list, nil
	}
	return append(list, in), nil
}

// tableBoxes reads a table of fractions with their photos.
func tableBoxes(name, set string) ([]boxInput, error) {
	w, err := readSieveFile(name, sieve.Options{Box: set})
	if err != nil {
		return nil, err
	}
	if len(w.Shakes) != 1 || w.Given != "mass" {
		return nil, refusedErrorf("%s: kernels box by box need one shake with masses, a table for each", name)
	}
	var out []boxInput
	photos := 0
	for _, f := range w.Shakes[0].Fractions {
		in := boxInput{box: ride.Box{Name: f.Label, OpeningMM: f.OpeningMM, MassG: f.MassG, ShownG: f.CountedG}}
		for _, photo := range strings.Split(f.Photo, "+") {
			if photo = strings.TrimSpace(photo); photo == "" {
				continue
			}
			if !filepath.IsAbs(photo) {
				photo = filepath.Join(filepath.Dir(name), photo)
			}
			in.files = append(in.files, photo)
			photos++
		}
		out = append(out, in)
	}
	if photos == 0 {
		return nil, withHint(refusedErrorf("%s: no row names a photo", name), "a column photo names the photo of each box's content")
	}
	return out, nil
}
