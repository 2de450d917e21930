package compare

import (
	"strings"
	"testing"
	"unicode/utf8"

	"gristmark/internal/estimate"
	"gristmark/internal/plain"
	"gristmark/internal/result"
)

func sampleOf(photos []result.Photo) *result.Sample {
	return estimate.Sample(photos, estimate.Options{Resamples: 200})
}

func TestTextKeepsTheWidth(t *testing.T) {
	var b strings.Builder
	long := strings.Repeat("field ", 20)
	a, c := side("a "+long, 1, 60, 61, 62), side("b "+long, 1, 70, 71, 72)
	a.Whole, a.Kernel, c.Whole, c.Kernel = 4, 80, 6, 70
	if err := must(t, a, c, Options{}).WriteText(&b, nil); err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(b.String(), "\n") {
		if utf8.RuneCountInString(line) > plain.Columns {
			t.Errorf("too long: %q", line)
		}
	}
}
