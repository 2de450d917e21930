package report

import (
	"bytes"
	"encoding/csv"
	"testing"
)

func rows() []Row {
	doc := document()
	out := []Row{{Sample: "s", Photos: doc.Photos, Estimate: doc.Sample, Document: "documents/s.json"}}
	for i := range doc.Photos {
		out = append(out, Row{Sample: "s", Photo: &doc.Photos[i], Overlay: "overlays/x.jpg"})
	}
	return append(out, Row{Sample: "none", Photos: doc.Photos[1:2]})
}

func cellsOf(t *testing.T, data []byte) []map[string]string {
	t.Helper()
	lines, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, line := range lines[1:] {
		cells := map[string]string{}
		for i, v := range line {
			cells[lines[0][i]] = v
		}
		out = append(out, cells)
	}
	return out
}

func TestResults(t *testing.T) {
	var b bytes.Buffer
	if err := WriteResults(&b, rows()); err != nil {
		t.Fatal(err)
	}
	lines := cellsOf(t, b.Bytes())
	for _, c := range []struct {
		line         int
		column, want string
	}{
		{0, "row", "sample"}, {0, "photos", "3"}, {0, "photos_measured", "2"}, {0, "passing_4_75_pct", "63"}, {0, "passing_4_75_pct_low", "57"},
		{0, "geometric_sd", "1.9"}, {0, "box_pan_pct_high", "15"}, {0, "verdict_kernels", "short_of_target"}, {0, "length_8_to_19_pct", "55"}, {0, "file", ""},
		{1, "row", "photo"}, {1, "file", "a.jpg"}, {1, "mm_per_px", "0.05"}, {1, "whole_kernels", "1"}, {1, "stover_pieces", "2"}, {1, "unsure", "1"},
		{1, "failed_checks", "glare"}, {1, "passing_4_75_pct", ""},
		{2, "status", "refused"}, {2, "whole_kernels", ""}, {2, "mm_per_px", ""}, {2, "problem", "no ruler found: put the card beside the pieces"},
		{3, "file", `c, "third".jpg`}, {3, "same_spread_as", "a.jpg"},
		{4, "row", "sample"}, {4, "status", "refused"}, {4, "whole_pct", ""},
	} {
		if got, ok := lines[c.line][c.column]; got != c.want || !ok {
			t.Errorf("line %d, %s: %q, want %q", c.line+1, c.column, got, c.want)
		}
	}
}

// Every cell that is written has its column.
func TestColumnsAreComplete(t *testing.T) {
	known := map[string]bool{}
	for _, name := range resultColumns {
		if known[name] {
			t.Errorf("column %s is there twice", name)
		}
		known[name] = true
	}
	for _, r := range rows() {
		cells := sampleCells(r)
		if r.Photo != nil {
			cells = photoCells(r)
		}
		for name := range cells {
			if !known[name] {
				t.Errorf("no column for %s", name)
			}
		}
	}
}

func TestRefused(t *testing.T) {
	var b bytes.Buffer
	if err := WriteRefused(&b, rows()); err != nil {
		t.Fatal(err)
	}
	lines := cellsOf(t, b.Bytes())
	if len(lines) != 1 || lines[0]["file"] != "b.jpg" || lines[0]["sample"] != "s" || lines[0]["problem"] == "" {
		t.Errorf("%v", lines)
	}
	b.Reset()
	if err := WriteRefused(&b, nil); err != nil || b.String() != "file,sample,problem,sha256\n" {
		t.Errorf("of nothing: %q, %v", b.String(), err)
	}
}
