package main

import (
	_ "embed"
	"fmt"
	"io"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/internal/advice"
	"gristmark/internal/plain"
	"gristmark/internal/words"
)

func init() { register(guideCommand) }

//go:embed guide.txt
var guideText string

//go:embed guide.de.txt
var guideDeutsch string

func guideCommand() *cli.Command {
	return &cli.Command{
		Name:        "guide",
		Usage:       "print how to take a sample, wash out kernels, shake a box and photograph",
		ArgsUsage:   "[TOPIC]",
		Description: "TOPIC is " + strings.Join(guideNames(), ", ") + "; without it all are printed.",
		Flags: []cli.Flag{
			&cli.StringFlag{Name: "state", Usage: "`STATE` of the crop: fresh or fermented"},
		},
		Action: runGuide,
	}
}

// topic is one part of the guide.
type topic struct {
	name, title string
	lines       []string // steps start with "- "
}

// guide is the guide in a language: "== name: title" starts a topic, "- " a step. The names are the same in every language.
func guide(lang string) []topic {
	text := guideText
	if lang == "de" {
		text = guideDeutsch
	}
	var out []topic
	for line := range strings.Lines(text) {
		line = strings.TrimSpace(line)
		switch {
		case strings.HasPrefix(line, "== "):
			name, title, _ := strings.Cut(strings.TrimPrefix(line, "== "), ": ")
			out = append(out, topic{name: name, title: title})
		case line != "" && len(out) > 0:
			out[len(out)-1].lines = append(out[len(out)-1].lines, line)
		}
	}
	return out
}

func guideNames() []string {
	var names []string
	for _, t := range guide("en") {
		names = append(names, t.name)
	}
	return names
}

func runGuide(c *cli.Context) error {
	state, wanted := c.String("state"), c.Args().First()
	if err := (advice.Context{State: state}).Validate(); err != nil {
		return usageError(err.Error())
	}
	if c.NArg() > 1 {
		return usageErrorf("guide takes at most one topic, but got %d", c.NArg())
	}
	var refused error
	printed := 0
	for _, t := range guide(wordsOf(c).Lang()) {
		if wanted != "" && t.name != wanted {
			continue
		}
		printed++
		if t.name == "water-test" {
			if err := advice.GuardWaterTest(state, "kernels"); err != nil {
				refused = refusedError(err.Error())
				continue
			}
		}
		if err := writeTopic(c.App.Writer, t, printed > 1, wordsOf(c)); err != nil {
			return err
		}
	}
	if printed == 0 {
		return usageErrorf("there is no topic %q; there are %s", wanted, strings.Join(guideNames(), ", "))
	}
	return refused
}

func writeTopic(w io.Writer, t topic, gap bool, say *words.Words) error {
	var b strings.Builder
	if gap {
		b.WriteString("\n")
	}
	b.WriteString(t.title + "\n")
	step := 0
	for _, line := range t.lines {
		if text, ok := strings.CutPrefix(line, "- "); ok {
			step++
			b.WriteString(plain.Hang(fmt.Sprintf("%2d. ", step), say.InUnits(text)))
			continue
		}
		b.WriteString(plain.Hang("    ", say.InUnits(line)))
	}
	_, err := io.WriteString(w, b.String())
	return err
}
