package tables

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"gristmark/internal/report"
)

// sheetRows is the most rows a sheet holds by the format, its header included.
const sheetRows = 1_048_576

// wordColumns hold words even where these look like numbers.
var wordColumns = []string{
	"sample", "file", "status", "problem", "taken_at", "sha256", "scale_from", "failed_checks", "same_spread_as", "duplicate_of",
	"verdict_kernels", "verdict_pieces", "targets", "advice", "document", "overlay",
}

// Workbook writes an XLSX with the sheets samples, photos, refused and particles. Numbers are numbers. The particles end
// where the sheet does; a sheet "left out" then says so, and CSV and Parquet hold them all.
type Workbook struct {
	f     *excelize.File
	bold  int
	limit int                    // rows of the sheet of particles
	sheet *excelize.StreamWriter // of particles
	row   int
	left  int // particles left out
}

// NewWorkbook writes the tables of samples, photos and refusals and is ready for particles.
func NewWorkbook(rows []report.Row) (*Workbook, error) {
	b := &Workbook{f: excelize.NewFile(), limit: sheetRows}
	err := b.start(rows)
	if err != nil {
		b.f.Close()
		return nil, fmt.Errorf("report: the workbook cannot be made: %w", err)
	}
	return b, nil
}

func (b *Workbook) start(rows []report.Row) error {
	var err error
	if b.bold, err = b.f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}}); err != nil {
		return err
	}
	if err := b.f.SetSheetName("Sheet1", "samples"); err != nil {
		return err
	}
	split := map[bool][]report.Row{}
	for _, r := range rows {
		split[r.Photo != nil] = append(split[r.Photo != nil], r)
	}
	for _, t := range []struct {
		name  string
		write func(io.Writer, []report.Row) error
		rows  []report.Row
	}{{"samples", report.WriteResults, split[false]}, {"photos", report.WriteResults, split[true]}, {"refused", report.WriteRefused, split[true]}} {
		if err := b.table(t.name, t.write, t.rows); err != nil {
			return err
		}
	}
	b.sheet, err = b.newSheet("particles", particleColumns)
	b.row = 1
	return err
}

// table fills a sheet from the CSV of the same table, without the columns that stay empty.
func (b *Workbook) table(name string, write func(io.Writer, []report.Row) error, rows []report.Row) error {
	var buf bytes.Buffer
	if err := write(&buf, rows); err != nil {
		return err
	}
	lines, err := csv.NewReader(&buf).ReadAll()
	if err != nil {
		return err
	}
	keep := filled(lines)
	header := make([]string, len(keep))
	for i, k := range keep {
		header[i] = lines[0][k]
	}
	w, err := b.newSheet(name, header)
	if err != nil {
		return err
	}
	for n, line := range lines[1:] {
		cells := make([]any, len(keep))
		for i, k := range keep {
			cells[i] = typed(header[i], line[k])
		}
		if err := w.SetRow("A"+strconv.Itoa(n+2), cells); err != nil {
			return err
		}
	}
	return w.Flush()
}

// filled lists the columns with a value in any row, or all where there is no row; that which tells photo from sample
// is left out.
func filled(lines [][]string) []int {
	var keep []int
	for i, name := range lines[0] {
		used := slices.ContainsFunc(lines[1:], func(line []string) bool { return line[i] != "" })
		if name != "row" && (used || len(lines) == 1) {
			keep = append(keep, i)
		}
	}
	return keep
}

func typed(column, s string) any {
	if s == "" {
		return nil
	}
	if v, err := strconv.ParseFloat(s, 64); err == nil && !slices.Contains(wordColumns, column) {
		return v
	}
	return s
}

// newSheet starts a sheet with a bold header that stays in view.
func (b *Workbook) newSheet(name string, header []string) (*excelize.StreamWriter, error) {
	if _, err := b.f.NewSheet(name); err != nil {
		return nil, err
	}
	w, err := b.f.NewStreamWriter(name)
	if err != nil {
		return nil, err
	}
	cells := make([]any, len(header))
	for i, h := range header {
		cells[i] = excelize.Cell{StyleID: b.bold, Value: h}
	}
	err = w.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"})
	if err == nil {
		err = w.SetColWidth(1, max(1, len(header)), 16)
	}
	if err == nil {
		err = w.SetRow("A1", cells)
	}
	return w, err
}

// Write adds particles.
func (b *Workbook) Write(rows []Particle) error {
	for _, p := range rows {
		if b.row >= b.limit {
			b.left++
			continue
		}
		b.row++
		if err := b.sheet.SetRow("A"+strconv.Itoa(b.row), p.cells()); err != nil {
			return err
		}
	}
	return nil
}

// Finish writes the workbook to w and frees what it held. The parts of the file are put in order of their names: the
// library's own order changes from run to run.
func (b *Workbook) Finish(w io.Writer) error {
	defer b.f.Close()
	if err := b.sheet.Flush(); err != nil {
		return err
	}
	if err := b.sayLeftOut(); err != nil {
		return err
	}
	buf, err := b.f.WriteToBuffer()
	if err != nil {
		return fmt.Errorf("report: the workbook cannot be made: %w", err)
	}
	parts, err := zip.NewReader(bytes.NewReader(buf.Bytes()), int64(buf.Len()))
	if err != nil {
		return err
	}
	slices.SortFunc(parts.File, func(a, b *zip.File) int { return strings.Compare(a.Name, b.Name) })
	out := zip.NewWriter(w)
	for _, part := range parts.File {
		if err := out.Copy(part); err != nil {
			return err
		}
	}
	return out.Close()
}

func (b *Workbook) sayLeftOut() error {
	if b.left == 0 {
		return nil
	}
	w, err := b.newSheet("left out", []string{"note"})
	if err != nil {
		return err
	}
	if err := w.SetRow("A2", []any{fmt.Sprintf("%d particles are beyond the rows of a sheet; particles.csv and particles.parquet hold all", b.left)}); err != nil {
		return err
	}
	return w.Flush()
}
