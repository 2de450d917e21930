package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/internal/advice"
	"gristmark/internal/plain"
	"gristmark/internal/words"
)

func init() { register(targetsCommand) }

func targetsCommand() *cli.Command {
	return &cli.Command{
		Name:      "targets",
		Usage:     "print the targets with their sources",
		ArgsUsage: "[SET]",
		Description: "Prints the target sets, or the one named. --yaml prints them as a file to change and to give to\n" +
			"--targets of measure, batch and sieve; --file checks and prints such a file.",
		Flags: []cli.Flag{
			&cli.StringFlag{Name: "file", Usage: "check and print the sets of target `FILE`"},
			&cli.BoolFlag{Name: "yaml", Usage: "print the built-in target file"},
			&cli.BoolFlag{Name: "json", Usage: "print the sets as JSON"},
		},
		Action: runTargets,
	}
}

func runTargets(c *cli.Context) error {
	if c.NArg() > 1 {
		return usageErrorf("targets takes at most one set, but got %d", c.NArg())
	}
	if c.Bool("yaml") {
		if c.IsSet("file") || c.NArg() > 0 {
			return usageError("--yaml prints the built-in file alone")
		}
		_, err := c.App.Writer.Write(advice.TargetsYAML())
		return err
	}
	catalogue, err := loadCatalogue(c.String("file"))
	if err != nil {
		return err
	}
	if name := c.Args().First(); name != "" {
		set, err := catalogue.Find(name)
		if err != nil {
			return usageError(err.Error())
		}
		catalogue.Sets = []advice.TargetSet{set}
	}
	if c.Bool("json") {
		return writeJSON(c.App.Writer, catalogue)
	}
	return writeTargets(c.App.Writer, catalogue, wordsOf(c))
}

func writeTargets(w io.Writer, catalogue advice.Catalogue, say *words.Words) error {
	var b strings.Builder
	for i, s := range catalogue.Sets {
		if i > 0 {
			b.WriteString("\n")
		}
		b.WriteString(plain.Hang("", s.Name+": "+say.Say(s.Title)))
		for _, l := range s.Lines {
			text := fmt.Sprintf("%s (%s)", say.Say(l.Range()), say.Say(l.Source))
			if l.Note != "" {
				text += "; " + say.Say(l.Note)
			}
			b.WriteString(plain.Hang("  "+plain.Left(l.Measure, 18), text))
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}
