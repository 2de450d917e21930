package tables

import (
	"archive/zip"
	"fmt"
	"io"
	"os"
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
	"load", "farm", "field", "hybrid", "process", "state", "note",
}

// Columns gathers which columns of the tables have a value in any row: the sheets leave the others out.
type Columns struct {
	samples, photos, refused map[string]bool
}

// See takes rows of results.csv into account.
func (c *Columns) See(rows ...report.Row) {
	if c.samples == nil {
		c.samples, c.photos, c.refused = map[string]bool{}, map[string]bool{}, map[string]bool{}
	}
	for _, r := range rows {
		into := c.photos
		if r.Photo == nil {
			into = c.samples
		}
		see(into, r.Cells())
		see(c.refused, r.RefusedCells())
	}
}

func see(seen map[string]bool, cells map[string]string) {
	for name, cell := range cells {
		if cell != "" {
			seen[name] = true
		}
	}
}

// keep lists the columns that are filled, all where the sheet has no rows; that which tells photo from sample is left out.
func keep(columns []string, seen map[string]bool) []string {
	var out []string
	for _, name := range columns {
		if name != "row" && (seen[name] || len(seen) == 0) {
			out = append(out, name)
		}
	}
	return out
}

// Workbook writes an XLSX with the sheets samples, photos, refused and particles, row by row; what does not fit a buffer lies in
// temporary files meanwhile. Numbers are numbers. The particles end where the sheet does; a sheet "left out" then says so, and CSV and
// Parquet hold them all.
type Workbook struct {
	f     *excelize.File
	bold  int
	limit int // rows of a sheet

	samples, photos, refused, particles *sheet
	left                                int // rows left out
}

// sheet is one table of the book.
type sheet struct {
	w       *excelize.StreamWriter
	columns []string
	row     int
}

// NewWorkbook starts a book whose sheets have the columns that were seen.
func NewWorkbook(c *Columns) (*Workbook, error) {
	b := &Workbook{f: excelize.NewFile(), limit: sheetRows}
	if err := b.start(c); err != nil {
		b.f.Close()
		return nil, fmt.Errorf("report: the workbook cannot be made: %w", err)
	}
	return b, nil
}

func (b *Workbook) start(c *Columns) error {
	var err error
	if b.bold, err = b.f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}}); err != nil {
		return err
	}
	if err := b.f.SetSheetName("Sheet1", "samples"); err != nil {
		return err
	}
	for _, s := range []struct {
		into    **sheet
		name    string
		columns []string
	}{
		{&b.samples, "samples", keep(report.ResultColumns(), c.samples)}, {&b.photos, "photos", keep(report.ResultColumns(), c.photos)},
		{&b.refused, "refused", keep(report.RefusedColumns(), c.refused)}, {&b.particles, "particles", particleColumns},
	} {
		w, err := b.newSheet(s.name, s.columns)
		if err != nil {
			return err
		}
		*s.into = &sheet{w: w, columns: s.columns, row: 1}
	}
	return nil
}

// WriteRows adds samples and photos, and the refused ones of them.
func (b *Workbook) WriteRows(rows ...report.Row) error {
	for _, r := range rows {
		into := b.photos
		if r.Photo == nil {
			into = b.samples
		}
		if err := b.words(into, r.Cells()); err != nil {
			return err
		}
		if cells := r.RefusedCells(); cells != nil {
			if err := b.words(b.refused, cells); err != nil {
				return err
			}
		}
	}
	return nil
}

// words adds a row of cells as the CSV has them.
func (b *Workbook) words(s *sheet, values map[string]string) error {
	cells := make([]any, len(s.columns))
	for i, name := range s.columns {
		cells[i] = typed(name, values[name])
	}
	return b.add(s, cells)
}

func (b *Workbook) add(s *sheet, cells []any) error {
	if s.row >= b.limit {
		b.left++
		return nil
	}
	s.row++
	return s.w.SetRow("A"+strconv.Itoa(s.row), cells)
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
	// The library would say that the sheet is one cell, before it knows; readers that go by it then find no rows.
	if err := b.f.SetSheetDimension(name, ""); err != nil {
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
		if err := b.add(b.particles, p.cells()); err != nil {
			return err
		}
	}
	return nil
}

// Finish writes the workbook to w and frees what it held. The parts of the file are put in order of their names: the
// library's own order changes from run to run.
func (b *Workbook) Finish(w io.Writer) error {
	defer b.f.Close()
	for _, s := range []*sheet{b.samples, b.photos, b.refused, b.particles} {
		if err := s.w.Flush(); err != nil {
			return err
		}
	}
	if err := b.sayLeftOut(); err != nil {
		return err
	}
	raw, err := os.CreateTemp("", "gristmark-*.xlsx")
	if err != nil {
		return fmt.Errorf("report: the workbook cannot be made: %w", err)
	}
	defer os.Remove(raw.Name())
	defer raw.Close()
	if err := b.f.Write(raw); err != nil {
		return fmt.Errorf("report: the workbook cannot be made: %w", err)
	}
	return inOrder(w, raw)
}

// inOrder copies a zip with its parts in order of their names.
func inOrder(w io.Writer, raw *os.File) error {
	info, err := raw.Stat()
	if err != nil {
		return err
	}
	parts, err := zip.NewReader(raw, info.Size())
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
	if err := w.SetRow("A2", []any{fmt.Sprintf("%d rows are beyond what a sheet holds; the CSV and Parquet files hold all", b.left)}); err != nil {
		return err
	}
	return w.Flush()
}
