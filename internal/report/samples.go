package report

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"gristmark/internal/result"
)

// SampleLine is one sample of a batch.
type SampleLine struct {
	Name    string
	Photos  int
	Refused int
	Sample  *result.Sample
}

// Samples writes a table of samples, a line each, at 80 columns.
func Samples(w io.Writer, lines []SampleLine, paint Paint) error {
	const nameWidth = 16
	var b strings.Builder
	b.WriteString(paint.bold(fmt.Sprintf("%-*s %8s  %-17s %-15s  %s", nameWidth, "Sample", "Photos", "Through 4.75 mm", "Kernels", "Length")) + "\n")
	for _, l := range lines {
		photos := fmt.Sprint(l.Photos)
		if l.Refused > 0 {
			photos = fmt.Sprintf("%d of %d", l.Photos-l.Refused, l.Photos)
		}
		passing, kernels, pieces := "", (*string)(nil), (*string)(nil)
		if s := l.Sample; s != nil {
			kernels, pieces = s.Verdict.Kernels, s.Verdict.Pieces
			if s.Kernels != nil && s.Kernels.Passing475Pct != nil {
				passing = interval(*s.Kernels.Passing475Pct) + " %"
			}
		} else {
			passing = "refused"
		}
		fmt.Fprintf(&b, "%s %8s  %-17s %s  %s\n", pad(shorten(l.Name, nameWidth), nameWidth), photos, passing,
			paint.verdict(kernels, fmt.Sprintf("%-15s", verdictWords(kernels))), paint.verdict(pieces, verdictWords(pieces)))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// shorten keeps the end of a name, which tells more than its start.
func shorten(s string, width int) string {
	n := utf8.RuneCountInString(s)
	if n <= width {
		return s
	}
	return "…" + string([]rune(s)[n-width+1:])
}
