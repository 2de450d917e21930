package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/internal/words"
)

// The exit statuses of the program.
const (
	statusDone    = 0
	statusFault   = 1
	statusUsage   = 2
	statusRefused = 3
)

// usageError says what is wrong with the command line: exit status 2.
type usageError string

func (e usageError) Error() string { return string(e) }

func usageErrorf(format string, args ...any) error { return usageError(fmt.Sprintf(format, args...)) }

// refusedError says why an input (photo, table, sample, state of the crop) was refused: exit status 3.
type refusedError string

func (e refusedError) Error() string { return string(e) }

func refusedErrorf(format string, args ...any) error {
	return refusedError(fmt.Sprintf(format, args...))
}

// hinted is an error with a line that says what to do.
type hinted struct {
	err  error
	hint string
}

func (h hinted) Error() string { return h.err.Error() }
func (h hinted) Unwrap() error { return h.err }

// withHint adds the line "hint: …" to an error; a nil error stays nil.
func withHint(err error, hint string) error {
	if err == nil {
		return nil
	}
	return hinted{err, hint}
}

// exitStatus maps an error to the program's exit status.
func exitStatus(err error) int {
	var usage usageError
	var refused refusedError
	switch {
	case err == nil:
		return statusDone
	case errors.As(err, &usage), strings.HasPrefix(err.Error(), "Required flag"):
		return statusUsage
	case errors.As(err, &refused):
		return statusRefused
	}
	return statusFault
}

// printError writes an error for a person, with its hint if it has one. What is said of options and files keeps its units: they
// are metric.
func printError(w io.Writer, err error, speak *words.Words) {
	if err == nil {
		return
	}
	speak = speak.Metric()
	if text := err.Error(); text != "" {
		fmt.Fprintf(w, "gristmark: %s\n", speak.Say(text))
	}
	var h hinted
	if errors.As(err, &h) && h.hint != "" {
		fmt.Fprintln(w, speak.T("hint: %s", speak.Say(h.hint)))
	}
}

// withUsageHint adds to wrong usage without a hint where the options are listed.
func withUsageHint(app *cli.App, args []string, err error) error {
	var h hinted
	if exitStatus(err) != statusUsage || errors.As(err, &h) {
		return err
	}
	return withHint(err, strings.Join(commandPath(app, args), " ")+" --help lists the options")
}

// commandPath is the program's name with the commands named in the arguments.
func commandPath(app *cli.App, args []string) []string {
	path := []string{app.Name}
	commands := app.Commands
	for _, word := range args[min(1, len(args)):] {
		if word == "--" {
			break
		}
		if c := findCommand(commands, word); c != nil {
			path, commands = append(path, c.Name), c.Subcommands
		}
	}
	return path
}
