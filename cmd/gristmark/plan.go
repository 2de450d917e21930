package main

import (
	"cmp"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/internal/compare"
	"gristmark/internal/sieve"
)

func init() { register(planCommand) }

func planCommand() *cli.Command {
	return &cli.Command{
		Name:      "plan",
		Usage:     "say how many photos or shakes it takes",
		ArgsUsage: "[SAMPLE]",
		Description: "From the spread seen so far in SAMPLE (a measurement document, a folder of photos or a sieve file with\n" +
			"repeated shakes), how many more handfuls until the 95 % interval is within the wished half width.\n" +
			"Without SAMPLE, from documented assumptions. The options of measure apply to photos in a folder.",
		Flags: append([]cli.Flag{
			&cli.StringFlag{Name: "measure", Usage: "`FIGURE` to plan for: " + strings.Join(measureNames(), ", ") + "; default the first that the sample has"},
			&cli.Float64Flag{Name: "within", Value: 5, Usage: "wished half width, `POINTS` (mm for the mean length)"},
			&cli.StringFlag{Name: "box", Value: sieve.Boxes()[0], Usage: "what top, middle and lower stand for in sieve files"},
			&cli.BoolFlag{Name: "json", Usage: "print the plan document, and nothing else"},
		}, photoFlags()...),
		Action: runPlan,
	}
}

func measureNames() []string {
	var names []string
	for _, m := range compare.Measures {
		names = append(names, m.Name)
	}
	return names
}

func runPlan(c *cli.Context) error {
	if c.NArg() > 1 {
		return usageErrorf("plan takes at most one sample, but got %d", c.NArg())
	}
	var side *compare.Side
	var refused error
	if name := c.Args().First(); name != "" {
		s, some, err := readSide(c, name, "")
		if err != nil {
			return err
		}
		side, refused = &s, some
	}
	measure := c.String("measure")
	if measure == "" {
		measure = firstMeasure(side)
	}
	p, err := compare.MakePlan(side, measure, c.Float64("within"))
	if err != nil {
		return usageError(err.Error())
	}
	p.Version = programVersion()
	if c.Bool("json") {
		err = writeJSON(c.App.Writer, p)
	} else {
		err = p.WriteText(c.App.Writer, wordsOf(c))
	}
	return cmp.Or(err, refused)
}

func firstMeasure(side *compare.Side) string {
	for _, name := range measureNames() {
		if side == nil {
			return name
		}
		if _, ok := side.Sample[name]; ok {
			return name
		}
	}
	return ""
}
