package main

import (
	"errors"
	"fmt"
	"io"
	"strings"
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

// printError writes an error for a person, with its hint if it has one.
func printError(w io.Writer, err error) {
	if err == nil {
		return
	}
	if text := err.Error(); text != "" {
		fmt.Fprintf(w, "gristmark: %s\n", text)
	}
	var h hinted
	if errors.As(err, &h) && h.hint != "" {
		fmt.Fprintf(w, "hint: %s\n", h.hint)
	}
}
