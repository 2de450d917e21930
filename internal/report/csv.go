package report

import (
	"encoding/csv"
	"io"
	"slices"
	"strconv"
	"strings"

	"gristmark/internal/result"
)

// Row is one line of results.csv: a photo, or a sample.
type Row struct {
	Sample   string
	Photo    *result.Photo  // nil in the row of a sample
	Photos   []result.Photo // of the sample, in the row of a sample
	Estimate *result.Sample // nil in the row of a photo, and where nothing was measured
	Document string         // path of the measurement document, in the row of a sample
	Overlay  string         // path of the overlay, in the row of a photo

	Settings result.Settings // what was told of the sample
}

var resultColumns = []string{
	"row", "sample", "file", "status", "problem", "taken_at", "sha256", "width_px", "height_px",
	"scale_from", "mm_per_px", "scale_relative_sd", "tilt_deg", "failed_checks", "same_spread_as", "duplicate_of",
	"photos", "photos_measured", "whole_kernels", "broken_kernels", "stover_pieces", "unsure",
	"whole_pct", "whole_pct_low", "whole_pct_high",
	"passing_4_75_pct", "passing_4_75_pct_low", "passing_4_75_pct_high", "passing_basis", "smallest_counted_mm",
	"geometric_mean_mm", "geometric_mean_mm_low", "geometric_mean_mm_high", "geometric_sd",
	"length_over_19_pct", "length_8_to_19_pct", "length_4_to_8_pct", "length_under_4_pct",
	"box_top_pct", "box_top_pct_low", "box_top_pct_high", "box_middle_pct", "box_middle_pct_low", "box_middle_pct_high",
	"box_lower_pct", "box_lower_pct_low", "box_lower_pct_high", "box_pan_pct", "box_pan_pct_low", "box_pan_pct_high",
	"state", "verdict_kernels", "verdict_pieces", "targets", "advice", "document", "overlay",
	"load", "farm", "field", "hybrid", "process", "dm_pct", "tloc_mm", "roll_gap_mm", "speed_diff_pct", "knife_hours", "throughput_tph", "note",
}

var refusedColumns = []string{"file", "sample", "problem", "sha256"}

// WriteResults writes results.csv: header first, one row a photo and one a sample, told apart by the column
// row. Decimal points and metric units whatever the language; what is not known is empty.
func WriteResults(w io.Writer, rows []Row) error { return writeAll(NewResultsTable(w), rows) }

// WriteRefused writes refused.csv: header first, one row a refused photo.
func WriteRefused(w io.Writer, rows []Row) error { return writeAll(NewRefusedTable(w), rows) }

func writeAll(t *Table, rows []Row) error {
	err := t.Write(rows...)
	if fault := t.Close(); err == nil {
		err = fault
	}
	return err
}

// Table writes a CSV of rows as they come.
type Table struct {
	columns []string
	cells   func(Row) map[string]string // nil for a row that does not belong here
	csv     *csv.Writer
	line    []string
	err     error
}

// NewResultsTable writes results.csv, see [WriteResults].
func NewResultsTable(w io.Writer) *Table { return newTable(w, resultColumns, resultCells) }

// NewRefusedTable writes refused.csv, see [WriteRefused].
func NewRefusedTable(w io.Writer) *Table { return newTable(w, refusedColumns, refusedCells) }

func newTable(w io.Writer, columns []string, cells func(Row) map[string]string) *Table {
	t := &Table{columns: columns, cells: cells, csv: csv.NewWriter(w), line: make([]string, len(columns))}
	t.err = t.csv.Write(columns)
	return t
}

// Write adds rows.
func (t *Table) Write(rows ...Row) error {
	for _, r := range rows {
		values := t.cells(r)
		if values == nil || t.err != nil {
			continue
		}
		for i, name := range t.columns {
			t.line[i] = values[name]
		}
		t.err = t.csv.Write(t.line)
	}
	return t.err
}

// Close writes what is left.
func (t *Table) Close() error {
	t.csv.Flush()
	if t.err == nil {
		t.err = t.csv.Error()
	}
	return t.err
}

// ResultColumns names the columns of results.csv, RefusedColumns those of refused.csv.
func ResultColumns() []string { return slices.Clone(resultColumns) }

// RefusedColumns names the columns of refused.csv.
func RefusedColumns() []string { return slices.Clone(refusedColumns) }

// Cells are the cells of a row of results.csv by column; empty ones may be missing.
func (r Row) Cells() map[string]string { return resultCells(r) }

// RefusedCells are the cells of a row of refused.csv by column, nil where the row is not of a refused photo.
func (r Row) RefusedCells() map[string]string { return refusedCells(r) }

func resultCells(r Row) map[string]string {
	var cells map[string]string
	if r.Photo != nil {
		cells = photoCells(r)
	} else {
		cells = sampleCells(r)
	}
	settingCells(cells, r.Settings)
	return cells
}

func refusedCells(r Row) map[string]string {
	if r.Photo == nil || r.Photo.Status != result.Refused {
		return nil
	}
	return photoCells(r)
}

// settingCells never overwrites what photo or sample say themselves.
func settingCells(cells map[string]string, s result.Settings) {
	for name, word := range map[string]string{"load": s.Load, "farm": s.Farm, "field": s.Field, "hybrid": s.Hybrid, "process": s.Process, "note": s.Note, "state": s.State, "taken_at": s.TakenAt} {
		if cells[name] == "" {
			cells[name] = word
		}
	}
	for name, v := range map[string]*float64{"dm_pct": s.DMPct, "tloc_mm": s.TLOCMM, "roll_gap_mm": s.RollGapMM, "speed_diff_pct": s.SpeedDiffPct, "knife_hours": s.KnifeHours, "throughput_tph": s.ThroughputTPH} {
		if v != nil {
			cells[name] = plain(*v)
		}
	}
}

func photoCells(r Row) map[string]string {
	p := r.Photo
	cells := map[string]string{
		"row": "photo", "sample": r.Sample, "file": p.File, "status": p.Status, "sha256": p.SHA256,
		"same_spread_as": p.SameSpreadAs, "duplicate_of": p.DuplicateOf, "overlay": r.Overlay,
		"failed_checks": failedChecks(p.Checks),
	}
	if p.Problem != nil {
		cells["problem"] = *p.Problem
	}
	if p.TakenAt != nil {
		cells["taken_at"] = *p.TakenAt
	}
	if p.WidthPx > 0 {
		cells["width_px"], cells["height_px"] = strconv.Itoa(p.WidthPx), strconv.Itoa(p.HeightPx)
	}
	if s := p.Scale; s != nil {
		cells["scale_from"] = s.From
		cells["mm_per_px"], cells["scale_relative_sd"], cells["tilt_deg"] = plain(s.MMPerPx), plain(s.RelativeSD), plain(s.TiltDeg)
	}
	if p.Status == result.Measured {
		countCells(cells, []result.Photo{*p})
	}
	return cells
}

func sampleCells(r Row) map[string]string {
	measured := 0
	for _, p := range r.Photos {
		if p.Status == result.Measured {
			measured++
		}
	}
	cells := map[string]string{
		"row": "sample", "sample": r.Sample, "status": result.Refused, "document": r.Document,
		"photos": strconv.Itoa(len(r.Photos)), "photos_measured": strconv.Itoa(measured),
	}
	s := r.Estimate
	if s == nil {
		cells["problem"] = "no photo of this sample could be measured"
		return cells
	}
	cells["status"], cells["targets"], cells["state"] = result.Measured, s.Verdict.Targets, s.State
	if v := s.Verdict.Kernels; v != nil {
		cells["verdict_kernels"] = *v
	}
	if v := s.Verdict.Pieces; v != nil {
		cells["verdict_pieces"] = *v
	}
	var do []string
	for _, a := range s.Advice {
		do = append(do, a.Do)
	}
	cells["advice"] = strings.Join(do, " | ")
	kernelCells(cells, s.Kernels)
	pieceCells(cells, s.Pieces)
	return cells
}

func kernelCells(cells map[string]string, k *result.Kernels) {
	if k == nil {
		return
	}
	cells["whole_kernels"], cells["broken_kernels"] = strconv.Itoa(k.Whole), strconv.Itoa(k.Broken)
	cells["smallest_counted_mm"] = plain(k.SmallestMM)
	if k.Passing475Pct != nil {
		cells["passing_basis"] = k.Basis
	}
	estimateCells(cells, "whole_pct", k.WholePct)
	estimateCells(cells, "passing_4_75_pct", k.Passing475Pct)
}

func pieceCells(cells map[string]string, p *result.Pieces) {
	if p == nil {
		return
	}
	cells["stover_pieces"] = strconv.Itoa(p.N)
	estimateCells(cells, "geometric_mean_mm", p.GeometricMeanMM)
	if p.GeometricSD != nil {
		cells["geometric_sd"] = plain(*p.GeometricSD)
	}
	if c := p.LengthClassesPct; c != nil {
		cells["length_over_19_pct"], cells["length_8_to_19_pct"] = plain(c.Over19), plain(c.From8)
		cells["length_4_to_8_pct"], cells["length_under_4_pct"] = plain(c.From4), plain(c.Under4)
	}
	if b := p.BoxPct; b != nil {
		estimateCells(cells, "box_top_pct", &b.Top)
		estimateCells(cells, "box_middle_pct", &b.Middle)
		estimateCells(cells, "box_lower_pct", &b.Lower)
		estimateCells(cells, "box_pan_pct", &b.Pan)
	}
}

func estimateCells(cells map[string]string, name string, e *result.Estimate) {
	if e != nil {
		cells[name], cells[name+"_low"], cells[name+"_high"] = plain(e.Value), plain(e.Low), plain(e.High)
	}
}

func countCells(cells map[string]string, photos []result.Photo) {
	n := map[result.Class]int{}
	for _, p := range photos {
		for _, q := range p.Particles {
			n[q.Class]++
		}
	}
	cells["whole_kernels"], cells["broken_kernels"] = strconv.Itoa(n[result.WholeKernel]), strconv.Itoa(n[result.BrokenKernel])
	cells["stover_pieces"], cells["unsure"] = strconv.Itoa(n[result.Stover]), strconv.Itoa(n[result.Unsure])
}

func failedChecks(checks []result.Check) string {
	var names []string
	for _, c := range checks {
		if !c.OK {
			names = append(names, c.Name)
		}
	}
	return strings.Join(names, " ")
}

func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
