package main

import "testing"

func TestReportRulers(t *testing.T) {
	got := reportRulers([]rulerTime{{"mat", 0.5}, {"grid", 0.81}})
	if want := "- finding a ruler in its drawn photo, decodes: mat 0.50; grid 0.81 (at most 0.8: NOT reached by grid)\n"; got != want {
		t.Error(got)
	}
	if got, want := reportRulers([]rulerTime{{"mat", 0.5}}), "- finding a ruler in its drawn photo, decodes: mat 0.50 (at most 0.8: reached)\n"; got != want {
		t.Error(got)
	}
}
