package main

import (
	"embed"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/internal/advice"
	"gristmark/internal/report/paper"
	"gristmark/internal/sieve"
	"gristmark/internal/words"
)

func init() { register(completionCommand) }

//go:embed completion
var completionScripts embed.FS

var shells = []string{"bash", "fish", "zsh"}

func completionCommand() *cli.Command {
	return &cli.Command{
		Name:      "completion",
		Usage:     "print the completion of commands, options and values for a shell",
		ArgsUsage: "SHELL",
		Description: "SHELL is bash, zsh or fish.\n" +
			"\n" +
			"    bash:  source <(gristmark completion bash)\n" +
			"    zsh:   source <(gristmark completion zsh)\n" +
			"    fish:  gristmark completion fish | source\n" +
			"\n" +
			"in the shell's start-up file makes it last.",
		Action: func(c *cli.Context) error {
			shell := c.Args().First()
			if c.NArg() != 1 || !slices.Contains(shells, shell) {
				return withHint(usageErrorf("completion takes one shell: bash, zsh or fish"), "gristmark completion bash")
			}
			script, err := completionScripts.ReadFile("completion/" + shell)
			if err != nil {
				return err
			}
			_, err = c.App.Writer.Write(script)
			return err
		},
	}
}

// completing is the word by which the scripts ask; what follows is the line as far as the cursor, the last word being the one to
// complete.
const completing = "__complete"

// candidate is a word that fits, with a few words on it.
type candidate struct{ word, about string }

// writeCandidates prints a line for each word that fits: the word, a tab, what it is.
func writeCandidates(w io.Writer, app *cli.App, line []string) {
	for _, c := range candidates(app, line) {
		about, _, _ := strings.Cut(c.about, "\n")
		fmt.Fprintf(w, "%s\t%s\n", c.word, about)
	}
}

// candidates are the words that fit at the end of the line; none where a file is wanted.
func candidates(app *cli.App, line []string) []candidate {
	line = joinEquals(line)
	if len(line) == 0 {
		line = []string{""}
	}
	before, last := line[:len(line)-1], line[len(line)-1]
	command, flags, commands, arguments := position(app, before)
	if slices.Contains(before, "--") {
		return nil
	}
	if name, value, ok := strings.Cut(last, "="); ok && isOption(flags, name) {
		var out []candidate
		for _, c := range fitting(valuesOf(command, strings.TrimLeft(name, "-")), value) {
			out = append(out, candidate{name + "=" + c.word, c.about})
		}
		return out
	}
	if n := len(before); n > 0 && isOption(flags, before[n-1]) && takesNext(flags, before[n-1]) {
		return fitting(valuesOf(command, strings.TrimLeft(before[n-1], "-")), last)
	}
	if strings.HasPrefix(last, "-") {
		return fitting(optionNames(flags), last)
	}
	if len(commands) > 0 {
		return fitting(commandNames(commands), last)
	}
	return fitting(argumentsOf(command, arguments), last)
}

// joinEquals puts together what bash takes apart at "=".
func joinEquals(line []string) []string {
	var out []string
	for i, word := range line {
		switch n := len(out); {
		case n > 0 && word == "=":
			out[n-1] += "="
		case n > 0 && i > 0 && line[i-1] == "=" && strings.HasSuffix(out[n-1], "="):
			out[n-1] += word
		default:
			out = append(out, word)
		}
	}
	return out
}

// position tells where the line stands: the command's name, the options that fit, the commands that may follow, and how many
// arguments there are.
func position(app *cli.App, before []string) (command string, flags []cli.Flag, commands []*cli.Command, arguments int) {
	flags, commands = app.Flags, app.Commands
	for i := 0; i < len(before); i++ {
		word := before[i]
		switch c := findCommand(commands, word); {
		case isOption(flags, word):
			if takesNext(flags, word) {
				i++
			}
		case c != nil:
			command = strings.TrimSpace(command + " " + c.Name)
			flags, commands = slices.Concat(c.Flags, app.Flags), c.Subcommands
		default:
			arguments++
		}
	}
	return command, flags, commands, arguments
}

func fitting(list []candidate, start string) []candidate {
	return slices.DeleteFunc(list, func(c candidate) bool { return !strings.HasPrefix(c.word, start) })
}

func commandNames(list []*cli.Command) []candidate {
	var out []candidate
	for _, c := range list {
		if !c.Hidden && c.Name != "help" {
			out = append(out, candidate{c.Name, c.Usage})
		}
	}
	return out
}

func optionNames(flags []cli.Flag) []candidate {
	var out []candidate
	for _, f := range flags {
		if d, ok := f.(cli.DocGenerationFlag); ok {
			_, usage := placeholderOf(d.GetUsage())
			out = append(out, candidate{"--" + f.Names()[0], usage})
		}
	}
	if !slices.ContainsFunc(out, func(c candidate) bool { return c.word == "--help" }) {
		out = append(out, candidate{"--help", "show help"})
	}
	slices.SortFunc(out, func(a, b candidate) int { return strings.Compare(a.word, b.word) })
	return out
}

func plainCandidates(list []string) []candidate {
	var out []candidate
	for _, v := range list {
		out = append(out, candidate{word: v})
	}
	return out
}

// optionValues are what an option may be told, by its name or by its command's and its own.
func optionValues() map[string][]string {
	boxes := sieve.Boxes()
	return map[string][]string{
		"lang": words.Languages(), "units": words.UnitNames(),
		"show": {"kernels", "pieces", "mixed"}, "scale": {"auto", "card", "mat", "grid:", "rule:", "frame:"},
		"process": {"conventional", "shredding", "unprocessed"}, "state": {advice.Fresh, advice.Fermented},
		"material": {"maize-silage", "haylage", "mixed-ration"}, "set": advice.Targets().Names(),
		"box-set": boxes, "sieve box": boxes, "compare box": boxes, "plan box": boxes, "plan measure": measureNames(),
		"group": {"folder", "name", "photo"}, "pdf": paper.Sizes, "plots": {"png", "svg", "both"},
		"card form": {"card", "mat"}, "card paper": {"a4", "letter", "a3"}, "kernel": storedKernels(),
	}
}

func valuesOf(command, option string) []candidate {
	all := optionValues()
	if list, ok := all[command+" "+option]; ok {
		return plainCandidates(list)
	}
	return plainCandidates(all[option])
}

// argumentsOf are the words that a command takes as its arguments, where these are no files.
func argumentsOf(command string, before int) []candidate {
	if before > 0 {
		return nil
	}
	switch command {
	case "completion":
		return plainCandidates(shells)
	case "guide":
		var out []candidate
		for _, t := range guide("en") {
			out = append(out, candidate{t.name, t.title})
		}
		return out
	case "targets":
		var out []candidate
		for _, s := range advice.Targets().Sets {
			out = append(out, candidate{s.Name, s.Title})
		}
		return out
	}
	return nil
}

// storedKernels are the names of the kernels in the user's configuration folder.
func storedKernels() []string {
	dir, err := kernelFolder()
	if err != nil {
		return nil
	}
	files, err := os.ReadDir(dir)
	if err != nil {
		return nil
	}
	var out []string
	for _, f := range files {
		if name, ok := strings.CutSuffix(f.Name(), ".json"); ok {
			out = append(out, name)
		}
	}
	return out
}
