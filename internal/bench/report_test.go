package main

import (
	"strings"
	"testing"
)

func TestReport(t *testing.T) {
	c := []*contestant{
		{Name: "decode", Seconds: []float64{0.1, 0.3, 0.1}},
		{Name: "scale", Seconds: []float64{0.05}},
		{Name: "whole", Seconds: []float64{0.9, 0.7}, PeakMB: 601},
		{Name: "chain", Seconds: []float64{8}},
	}
	got := report("a.jpg", 3, c)
	for _, want := range []string{
		"| whole | 0.800 | 8.0 | 601 |", // median of an even number is the middle of the two
		"included: 8.00 decodes (at most 8: reached)",
		"scale: 0.50 decodes (at most 0.8: reached)",
		"601.00 MB (at most 600: NOT reached)",
		"10.00 times (at least 8: reached)",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is missing in\n%s", want, got)
		}
	}
}

func TestOnlyMeasuredPhotosCount(t *testing.T) {
	if err := checkMeasured([]byte(`{"photos":[{"status":"measured","particles":[{"id":1}]}]}`)); err != nil {
		t.Error(err)
	}
	for _, bad := range []string{`{`, `{"photos":[]}`, `{"photos":[{"status":"refused","particles":[]}]}`, `{"photos":[{"status":"measured"}]}`} {
		if checkMeasured([]byte(bad)) == nil {
			t.Errorf("%s passed for a measurement", bad)
		}
	}
}
