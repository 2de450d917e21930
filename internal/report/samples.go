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
	say := paint.Words
	var b strings.Builder
	head := []string{pad(say.T("Sample"), nameWidth), fmt.Sprintf("%8s", say.T("Photos")), "", pad(say.T("Through 4.75 mm"), 17), pad(say.T("Kernels"), 16), say.T("Length")}
	b.WriteString(paint.bold(strings.Join(head, " ")) + "\n")
	for _, l := range lines {
		photos := fmt.Sprint(l.Photos)
		if l.Refused > 0 {
			photos = say.T("%d of %d", l.Photos-l.Refused, l.Photos)
		}
		passing, kernels, pieces := "", (*string)(nil), (*string)(nil)
		if s := l.Sample; s != nil {
			kernels, pieces = s.Verdict.Kernels, s.Verdict.Pieces
			if s.Kernels != nil && s.Kernels.Passing475Pct != nil {
				passing = say.Interval(*s.Kernels.Passing475Pct) + " %"
			}
		} else {
			passing = say.T("refused")
		}
		fmt.Fprintf(&b, "%s %8s  %s %s  %s\n", pad(shorten(l.Name, nameWidth), nameWidth), photos, pad(passing, 17),
			paint.verdict(kernels, pad(say.Verdict(kernels), 15)), paint.verdict(pieces, say.Verdict(pieces)))
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
