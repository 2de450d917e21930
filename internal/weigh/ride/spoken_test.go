package ride

import (
	"strings"
	"testing"
	"unicode/utf8"

	"gristmark/internal/plain"
	"gristmark/internal/words"
	"gristmark/internal/words/spoken"
)

// The text speaks both languages and both units; a lb of sample holds 0.45359237 of what a kg does.
func TestTextSpeaks(t *testing.T) {
	d, err := Build(boxes(), "fresh")
	if err != nil {
		t.Fatal(err)
	}
	de, err := words.For("de")
	if err != nil {
		t.Fatal(err)
	}
	in := func(w *words.Words) string {
		var b strings.Builder
		if err := d.WriteText(&b, w); err != nil {
			t.Fatal(err)
		}
		for _, line := range strings.Split(b.String(), "\n") {
			if utf8.RuneCountInString(line) > plain.Columns {
				t.Errorf("%s: too long: %q", w.Lang(), line)
			}
		}
		return b.String()
	}
	if text := in(de); spoken.English(text) != "" || spoken.DecimalPoint(text) != "" {
		t.Errorf("English %q in\n%s", spoken.English(text), text)
	}
	us := in((*words.Words)(nil).With(words.US))
	if spoken.Metric(us) != "" || strings.Contains(us, " kg") {
		t.Errorf("metric %q in\n%s", spoken.Metric(us), us)
	}
	// 26 a kg are 11.79 a lb.
	if !strings.HasPrefix(us, "12 whole kernels and 24 large pieces a lb of sample") {
		t.Error(us)
	}
}
