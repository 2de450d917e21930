package sieve

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
)

// Table is the cells of a file. Line tells for each row where it stands in the file, from 1.
type Table struct {
	Rows [][]string
	Line []int
}

// Limits of a table: a shake has some ten rows, so anything near these is not a table of fractions.
const (
	MaxFileBytes = 8 << 20
	maxRows      = 5000
	maxColumns   = 200
)

// ReadTable reads a CSV (comma, semicolon, tab or bar between the cells; UTF-8, UTF-16 or Latin-1) or an XLSX
// workbook, told apart by their first bytes. Of a workbook the first sheet with any cell is read. The table has at least one row.
func ReadTable(data []byte) (Table, error) {
	switch {
	case len(data) > MaxFileBytes:
		return Table{}, fmt.Errorf("sieve: the file has %d MB; a table of fractions has a few kB", len(data)>>20)
	case len(bytes.TrimSpace(data)) == 0:
		return Table{}, errors.New("sieve: the file is empty")
	case bytes.HasPrefix(data, []byte("PK\x03\x04")):
		return readXLSX(data)
	case bytes.HasPrefix(data, []byte{0xD0, 0xCF, 0x11, 0xE0}):
		return Table{}, errors.New("sieve: this is an old .xls workbook; save it as .xlsx or .csv")
	}
	return readCSV(decodeText(data))
}

// decodeText turns the bytes into UTF-8 text without a byte order mark.
func decodeText(data []byte) string {
	switch {
	case bytes.HasPrefix(data, []byte{0xFF, 0xFE}):
		return decodeUTF16(data[2:], 1)
	case bytes.HasPrefix(data, []byte{0xFE, 0xFF}):
		return decodeUTF16(data[2:], 0)
	}
	data = bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF"))
	if utf8.Valid(data) {
		return string(data)
	}
	runes := make([]rune, len(data))
	for i, b := range data {
		runes[i] = rune(b) // Latin-1
	}
	return string(runes)
}

// decodeUTF16 reads units of two bytes, the high one at offset high.
func decodeUTF16(data []byte, high int) string {
	units := make([]uint16, len(data)/2)
	for i := range units {
		units[i] = uint16(data[2*i+high])<<8 | uint16(data[2*i+1-high])
	}
	return string(utf16.Decode(units))
}

func readCSV(text string) (Table, error) {
	if strings.ContainsRune(text, 0) {
		return Table{}, errors.New("sieve: the file is neither CSV nor XLSX")
	}
	text = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text)
	r := csv.NewReader(strings.NewReader(text))
	r.Comma = separator(text)
	r.Comment = '#'
	r.FieldsPerRecord = -1
	r.LazyQuotes = true
	var t Table
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) && len(t.Rows) == 0 {
			return t, errors.New("sieve: the file holds no row, only comments")
		}
		if errors.Is(err, io.EOF) {
			return t, nil
		}
		if err != nil {
			return Table{}, fmt.Errorf("sieve: the CSV cannot be read: %w", err)
		}
		if len(t.Rows) >= maxRows || len(row) > maxColumns {
			return Table{}, fmt.Errorf("sieve: the table has over %d rows or %d columns; it is no table of fractions", maxRows, maxColumns)
		}
		line, _ := r.FieldPos(0)
		t.Rows = append(t.Rows, row)
		t.Line = append(t.Line, line)
	}
}

// separator is the one of ; tab | and comma that the first line with any of them has; in that order, so
// that a decimal comma is not taken for it.
func separator(text string) rune {
	for line := range strings.Lines(text) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		for _, sep := range ";\t|," {
			if strings.ContainsRune(line, sep) {
				return sep
			}
		}
	}
	return ','
}

func readXLSX(data []byte) (t Table, err error) {
	defer func() {
		if r := recover(); r != nil { // a library's panic on a broken workbook is the workbook's fault
			t, err = Table{}, errors.New("sieve: the workbook is damaged; save it again or use CSV")
		}
	}()
	f, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{UnzipSizeLimit: 64 << 20, UnzipXMLSizeLimit: 16 << 20, RawCellValue: true})
	if err != nil {
		return Table{}, fmt.Errorf("sieve: the workbook cannot be read: %w", err)
	}
	defer f.Close()
	for _, sheet := range f.GetSheetList() {
		rows, err := f.GetRows(sheet)
		if err != nil {
			return Table{}, fmt.Errorf("sieve: sheet %q cannot be read: %w", sheet, err)
		}
		if len(rows) > maxRows {
			return Table{}, fmt.Errorf("sieve: sheet %q has over %d rows; it is no table of fractions", sheet, maxRows)
		}
		if len(rows) > 0 {
			return numbered(rows), nil
		}
	}
	return Table{}, errors.New("sieve: the workbook has no cell filled in")
}

func numbered(rows [][]string) Table {
	t := Table{Rows: rows}
	for i := range rows {
		t.Line = append(t.Line, i+1)
	}
	return t
}
