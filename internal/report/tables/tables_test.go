package tables

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strconv"
	"testing"

	"github.com/apache/arrow-go/v18/arrow/array"
	"github.com/apache/arrow-go/v18/arrow/memory"
	"github.com/apache/arrow-go/v18/parquet/file"
	"github.com/apache/arrow-go/v18/parquet/pqarrow"
	"github.com/xuri/excelize/v2"

	"gristmark/internal/report"
	"gristmark/internal/result"
)

// photos are two: one measured, with a comma and a quote in its name, and a copy of it.
func photos() []result.Photo {
	share := 0.75
	list := []result.Particle{
		{ID: 1, Class: result.BrokenKernel, Probability: 0.9, PBroken: 0.9, PStover: 0.1, AtPx: result.XY{10.5, 20.25}, LengthMM: 7.5, WidthMM: 5, AreaMM2: 30.125, KernelShare: &share, Weight: 1.25},
		{ID: 2, Class: result.Stover, Probability: 0.8, PStover: 0.8, PWhole: 0.2, LengthMM: 1e-7, WidthMM: 3, AreaMM2: 12, CutByEdge: true},
	}
	problem := "no ruler found"
	return []result.Photo{
		{File: `a, "b".jpg`, SHA256: "aa", Status: result.Measured, Particles: list},
		{File: "copy.jpg", SHA256: "aa", Status: result.Measured, DuplicateOf: `a, "b".jpg`, Particles: list[:1]},
		{File: "bad.jpg", Status: result.Refused, Problem: &problem, Particles: []result.Particle{}},
	}
}

func reportRows() []report.Row {
	p := photos()
	rows := []report.Row{{Sample: "007", Photos: p, Document: "documents/007.json"}}
	for i := range p {
		rows = append(rows, report.Row{Sample: "007", Photo: &p[i]})
	}
	return rows
}

func TestParticleCSV(t *testing.T) {
	var b bytes.Buffer
	w, err := NewParticleCSV(&b)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(Particles("007", photos())); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	lines, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(lines) != 4 {
		t.Fatalf("%d lines, %v", len(lines), err)
	}
	for _, want := range []struct {
		row          int
		column, cell string
	}{
		{1, "sample", "007"}, {1, "file", `a, "b".jpg`}, {1, "kernel_share", "0.75"}, {1, "x_px", "10.5"}, {1, "counted", "true"},
		{2, "kernel_share", ""}, {2, "length_mm", "0.0000001"}, {2, "cut_by_edge", "true"}, {3, "counted", "false"}, {3, "id", "1"},
	} {
		if got := cell(lines, want.row, want.column); got != want.cell {
			t.Errorf("row %d, %s: %q, want %q", want.row, want.column, got, want.cell)
		}
	}
}

func cell(lines [][]string, row int, column string) string {
	for i, name := range lines[0] {
		if name == column && i < len(lines[row]) {
			return lines[row][i]
		}
	}
	return "no such cell"
}

// Another library reads the Parquet back, more rows than one group holds, and finds what CSV says.
func TestParquetReadByArrow(t *testing.T) {
	var b bytes.Buffer
	w := NewParticleParquet(&b)
	rows := Particles("007", photos())
	const times = groupRows/3 + 50
	for range times {
		if err := w.Write(rows); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	f, err := file.NewParquetReader(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if f.NumRows() != 3*times || f.NumRowGroups() < 2 {
		t.Errorf("%d rows in %d groups, want %d in 2 or more", f.NumRows(), f.NumRowGroups(), 3*times)
	}
	r, err := pqarrow.NewFileReader(f, pqarrow.ArrowReadProperties{}, memory.DefaultAllocator)
	if err != nil {
		t.Fatal(err)
	}
	table, err := r.ReadTable(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer table.Release()
	reader := array.NewTableReader(table, 3)
	defer reader.Release()
	if !reader.Next() {
		t.Fatal("no rows")
	}
	batch := reader.RecordBatch()
	for i, name := range particleColumns {
		if got := batch.ColumnName(i); got != name {
			t.Fatalf("column %d is %s, want %s", i, got, name)
		}
		for n, p := range rows {
			want := text(p.cells()[i])
			got := ""
			if c := batch.Column(i); !c.IsNull(n) {
				got = fmt.Sprint(c.GetOneForMarshal(n))
			}
			if v, err := strconv.ParseFloat(got, 64); err == nil && name != "sample" {
				got = text(v)
			}
			if got != want {
				t.Errorf("row %d, %s: %q, want %q", n, name, got, want)
			}
		}
	}
}

func workbook(t *testing.T, limit int) []byte {
	t.Helper()
	var seen Columns
	seen.See(reportRows()...)
	b, err := NewWorkbook(&seen)
	if err != nil {
		t.Fatal(err)
	}
	b.limit = limit
	if err := b.WriteRows(reportRows()...); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if err := b.Write(Particles("007", photos())); err != nil {
			t.Fatal(err)
		}
	}
	var out bytes.Buffer
	if err := b.Finish(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestWorkbook(t *testing.T) {
	data := workbook(t, 4)
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if got := fmt.Sprint(f.GetSheetList()); got != "[samples photos refused particles left out]" {
		t.Errorf("sheets %s", got)
	}
	for sheet, rows := range map[string]int{"samples": 2, "photos": 4, "refused": 2, "particles": 4, "left out": 2} {
		lines, err := f.GetRows(sheet)
		if err != nil || len(lines) != rows {
			t.Errorf("%s: %d rows, want %d; %v", sheet, len(lines), rows, err)
		}
	}
	samples, _ := f.GetRows("samples")
	particles, _ := f.GetRows("particles")
	if cell(samples, 1, "sample") != "007" || cell(samples, 1, "photos") != "3" || cell(particles, 1, "area_mm2") != "30.125" {
		t.Errorf("samples %v, particles %v", samples, particles)
	}
	kind := func(sheet, at string) excelize.CellType {
		k, err := f.GetCellType(sheet, at)
		if err != nil {
			t.Fatal(err)
		}
		return k
	}
	if kind("particles", "L2") == kind("particles", "A2") || kind("samples", "A2") != kind("particles", "A2") {
		t.Error("numbers and words are of one type")
	}
}

func TestWorkbookIsTheSame(t *testing.T) {
	if !bytes.Equal(workbook(t, 100), workbook(t, 100)) {
		t.Error("the same tables gave other bytes")
	}
}
