package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os/exec"
	"strings"
	"time"

	"gristmark/internal/result"
)

// measureLimit ends a measurement that hangs.
const measureLimit = 2 * time.Minute

// exitRefused is the exit status of a refused photo.
const exitRefused = 3

// program runs the built command line, so that what is scored is what a user gets.
type program string

// measure returns the measurement document of one photo. A program that breaks down is no error: its
// document refuses the photo and says how it ended, so that the scene counts as missed.
func (p program) measure(photo string, options ...string) (result.Document, time.Duration) {
	ctx, cancel := context.WithTimeout(context.Background(), measureLimit)
	defer cancel()
	arguments := append([]string{"measure", "--json", "--outlines"}, options...)
	cmd := exec.CommandContext(ctx, string(p), append(arguments, photo)...)
	var out, said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &said
	began := time.Now()
	err := cmd.Run()
	took := time.Since(began)

	var doc result.Document
	var exit *exec.ExitError
	switch refused := errors.As(err, &exit) && exit.ExitCode() == exitRefused; {
	case err != nil && !refused:
		return broken(photo, fmt.Sprintf("%v: %s", err, lastLine(said.String()))), took
	case json.Unmarshal(out.Bytes(), &doc) != nil || len(doc.Photos) == 0:
		return broken(photo, "no measurement document: "+lastLine(said.String())), took
	}
	return doc, took
}

func broken(photo, how string) result.Document {
	how = "BROKE DOWN: " + how
	return result.Document{Photos: []result.Photo{{File: photo, Status: result.Refused, Problem: &how}}}
}

func lastLine(text string) string {
	lines := strings.Split(strings.TrimSpace(text), "\n")
	return lines[len(lines)-1]
}
