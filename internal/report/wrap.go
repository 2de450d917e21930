package report

import (
	"strings"
	"unicode/utf8"
)

// Columns is the width that summaries are written for.
const Columns = 80

// wrap breaks text into lines of at most width characters; a longer word gets a line of its own.
func wrap(text string, width int) []string {
	return wrapBy(text, func(line string) bool { return utf8.RuneCountInString(line) <= width })
}

// wrapBy breaks text into lines that fit.
func wrapBy(text string, fits func(line string) bool) []string {
	var lines []string
	line := ""
	for _, word := range unitsKept(text) {
		switch longer := line + " " + word; {
		case line == "":
			line = word
		case fits(longer):
			line = longer
		default:
			lines = append(lines, line)
			line = word
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// unitsKept splits text into words, with a unit kept to its number.
func unitsKept(text string) []string {
	var out []string
	for _, word := range strings.Fields(text) {
		unit := strings.TrimRight(word, ".,;:)")
		if len(out) > 0 && (unit == "%" || unit == "mm" || unit == "mm²" || unit == "in" || unit == "lb") {
			out[len(out)-1] += " " + word
			continue
		}
		out = append(out, word)
	}
	return out
}

// hang writes text behind a head, wrapped, the further lines indented to the head's width.
func hang(head, text string) string {
	width := utf8.RuneCountInString(head)
	lines := wrap(text, Columns-width)
	if len(lines) == 0 {
		return strings.TrimRight(head, " ") + "\n"
	}
	return head + strings.Join(lines, "\n"+strings.Repeat(" ", width)) + "\n"
}

// pad fills text up to width with spaces.
func pad(text string, width int) string {
	return text + strings.Repeat(" ", max(0, width-utf8.RuneCountInString(text)))
}
