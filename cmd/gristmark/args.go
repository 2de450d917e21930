package main

import (
	"slices"
	"strconv"
	"strings"

	"github.com/urfave/cli/v2"
)

// reorder puts the options of a command before its arguments, because the parser stops at the first
// argument. What follows "--" stays as it is, and "--" is put before the arguments so that nothing
// among them is taken for an option.
//
// A negative number that is no option of the command is an argument. Words that look like options
// and are not known stay among the options, for the parser to complain of.
func reorder(app *cli.App, args []string) []string {
	if len(args) == 0 {
		return args
	}
	out := []string{args[0]}
	flags, commands := app.Flags, app.Commands
	rest := args[1:]
	for {
		name := firstArgument(slices.Concat(flags, app.Flags), rest)
		if name < 0 {
			break
		}
		command := findCommand(commands, rest[name])
		if command == nil && len(out) == 1 {
			return args // no such command, which matters more than its options
		}
		if command == nil {
			break
		}
		// Options met before the command's name belong to the level above.
		out = append(append(out, rest[:name]...), rest[name])
		rest = rest[name+1:]
		flags, commands = command.Flags, command.Subcommands
	}
	options, arguments := split(slices.Concat(flags, app.Flags), rest)
	out = append(out, options...)
	if len(arguments) > 0 {
		out = append(append(out, "--"), arguments...)
	}
	return globalsFirst(app, out)
}

// globalsFirst moves the options of every command, with their values, to the front; words has options in order, and
// nothing after "--" is touched.
func globalsFirst(app *cli.App, words []string) []string {
	front, rest := []string{words[0]}, []string(nil)
	flags, commands := app.Flags, app.Commands
	for i := 1; i < len(words); i++ {
		word := words[i]
		if word == "--" {
			rest = append(rest, words[i:]...)
			break
		}
		if command := findCommand(commands, word); command != nil && !isOption(flags, word) {
			flags, commands = command.Flags, command.Subcommands
		}
		to := &rest
		if isOption(flags, word) && findFlag(app.Flags, word) != nil && (len(rest) == 0 || findFlag(flags, word) == nil) {
			to = &front
		}
		*to = append(*to, word)
		if isOption(flags, word) && takesNext(slices.Concat(flags, app.Flags), word) && i+1 < len(words) {
			i++
			*to = append(*to, words[i])
		}
	}
	return append(front, rest...)
}

// split sorts words into options with their values, and arguments.
func split(flags []cli.Flag, words []string) (options, arguments []string) {
	for i := 0; i < len(words); i++ {
		word := words[i]
		switch {
		case word == "--":
			return options, append(arguments, words[i+1:]...)
		case !isOption(flags, word):
			arguments = append(arguments, word)
		default:
			options = append(options, word)
			if takesNext(flags, word) && i+1 < len(words) {
				i++
				options = append(options, words[i])
			}
		}
	}
	return options, arguments
}

// firstArgument is the place of the first word that is no option nor an option's value, or -1.
func firstArgument(flags []cli.Flag, words []string) int {
	for i := 0; i < len(words); i++ {
		switch {
		case words[i] == "--":
			return -1
		case !isOption(flags, words[i]):
			return i
		case takesNext(flags, words[i]):
			i++
		}
	}
	return -1
}

func isOption(flags []cli.Flag, word string) bool {
	if len(word) < 2 || word[0] != '-' {
		return false
	}
	if _, err := strconv.ParseFloat(word, 64); err == nil {
		return findFlag(flags, word) != nil
	}
	return true
}

// takesNext reports whether the option's value is the next word.
func takesNext(flags []cli.Flag, word string) bool {
	if strings.Contains(word, "=") {
		return false
	}
	f, ok := findFlag(flags, word).(cli.DocGenerationFlag)
	return ok && f.TakesValue()
}

func findFlag(flags []cli.Flag, word string) cli.Flag {
	name, _, _ := strings.Cut(strings.TrimPrefix(strings.TrimPrefix(word, "-"), "-"), "=")
	for _, f := range flags {
		if slices.Contains(f.Names(), name) {
			return f
		}
	}
	return nil
}

func findCommand(commands []*cli.Command, name string) *cli.Command {
	for _, c := range commands {
		if c.HasName(name) {
			return c
		}
	}
	return nil
}
