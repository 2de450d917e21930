// Package plain lays out text for a terminal of 80 columns.
package plain

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Columns is the width that output for people keeps to.
const Columns = 80

// Hang writes text behind a head, wrapped at [Columns], further lines indented to the head's width; it ends with
// a line break. A word longer than the room gets a line of its own.
func Hang(head, text string) string {
	indent := utf8.RuneCountInString(head)
	var b strings.Builder
	b.WriteString(head)
	at := indent
	for i, word := range unitsKept(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case at+1+n > Columns:
			b.WriteString("\n" + strings.Repeat(" ", indent))
			at = indent
		default:
			b.WriteByte(' ')
			at++
		}
		b.WriteString(word)
		at += n
	}
	return strings.TrimRight(b.String(), " ") + "\n"
}

// units stand with their number.
var units = []string{"%", "mm", "mm²", "cm", "in", "in²", "g", "kg", "lb", "l", "qt"}

// unitsKept splits text into words, each unit left with the number before it.
func unitsKept(text string) []string {
	var out []string
	for _, word := range strings.Fields(text) {
		n := len(out)
		if n > 0 && slices.Contains(units, strings.TrimRight(word, ".,;:)")) && strings.ContainsAny(out[n-1][len(out[n-1])-1:], "0123456789)") {
			out[n-1] += " " + word
			continue
		}
		out = append(out, word)
	}
	return out
}

// Left pads s with spaces on its right to n columns, Right on its left.
func Left(s string, n int) string {
	return s + strings.Repeat(" ", max(0, n-utf8.RuneCountInString(s)))
}

// Right pads s with spaces on its left to n columns.
func Right(s string, n int) string {
	return strings.Repeat(" ", max(0, n-utf8.RuneCountInString(s))) + s
}

// Number prints v with at most the given decimals, without trailing zeros.
func Number(v float64, decimals int) string {
	p := math.Pow(10, float64(decimals))
	v = math.Round(v*p) / p
	if v == 0 {
		v = 0 // no "-0"
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// Upper makes the first letter large, to start a sentence.
func Upper(s string) string {
	if s == "" {
		return s
	}
	r, n := utf8.DecodeRuneInString(s)
	return strings.ToUpper(string(r)) + s[n:]
}
