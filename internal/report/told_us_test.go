package report

import (
	"testing"

	"gristmark/internal/result"
	"gristmark/internal/words"
	"gristmark/internal/words/spoken"
)

func TestSettingsInInches(t *testing.T) {
	gap, tloc, rate := 1.5, 19.0, 250.0
	text := SettingsText(result.Settings{Load: "1", RollGapMM: &gap, TLOCMM: &tloc, ThroughputTPH: &rate}, (*words.Words)(nil).With(words.US))
	if want := "load 1, length of cut 0.75 in, roll gap 0.059 in, 276 short tons/h"; text != want || spoken.Metric(text) != "" {
		t.Errorf("%q, want %q", text, want)
	}
}
