package main

import (
	"fmt"
	"os"
	"path/filepath"
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

func TestBatchReport(t *testing.T) {
	b := batchBench{Small: 80, Full: 4, BrokenEvery: 20}
	got := b.report([]batchRun{{"quarter", 21, 10, 18, 500}, {"two", 84, 40, 76, 600}, {"one", 84, 76, 75, 300}})
	for _, want := range []string{
		"| two | 84 | 40 | 126.0 | 0.90 | 600 |",
		"over one: 1.90 times (at least 1.8: reached)",
		"photos: 1.20 times (at most 1.15: NOT reached)",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is missing in\n%s", want, got)
		}
	}
}

// The folder holds as many photos of each kind as asked for, all different, and the broken ones.
func TestFillFolder(t *testing.T) {
	dir := t.TempDir()
	var pictures []string
	for i := range smallScenes + fullScenes {
		path := filepath.Join(dir, fmt.Sprint(i))
		size := 300
		if i >= smallScenes {
			size = 3000
		}
		if err := os.WriteFile(path, append([]byte{0xFF, 0xD8}, make([]byte, size)...), 0o644); err != nil {
			t.Fatal(err)
		}
		pictures = append(pictures, path)
	}
	folder := filepath.Join(dir, "folder")
	b := batchBench{Small: 200, Full: 6, BrokenEvery: 20}
	if err := b.fill(folder, pictures); err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(folder, "load*", "*.jpg"))
	if err != nil {
		t.Fatal(err)
	}
	seen, full, broken := map[string]bool{}, 0, 0
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		seen[string(data)] = true
		if len(data) > 1000 {
			full++
		}
		if len(data) < 250 || len(data) > 1000 && len(data) < 3000 {
			broken++
		}
	}
	if len(files) != 206 || len(seen) != 206 || full < 5 || full > 6 || broken != 11 {
		t.Errorf("%d files, %d different, %d full-size, %d broken", len(files), len(seen), full, broken)
	}
}
