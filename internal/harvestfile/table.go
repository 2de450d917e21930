package harvestfile

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// MaxBytes bounds a table: a line has some hundred bytes.
const MaxBytes = 64 << 20

// table is a CSV under a header.
type table struct {
	name   string // for sentences
	at     map[string]int
	header []string // as written
	head   int      // line of the header
	rows   []row
	faults Faults
}

type row struct {
	line  int
	cells []string
}

// fault notes what is wrong on a line.
func (t *table) fault(line int, format string, args ...any) {
	t.faults = append(t.faults, fmt.Sprintf("%s line %d: %s", t.name, line, fmt.Sprintf(format, args...)))
}

func (t *table) cell(r row, column string) string {
	i, ok := t.at[column]
	if !ok || i >= len(r.cells) {
		return ""
	}
	return strings.TrimSpace(r.cells[i])
}

// readTable reads a CSV with comma, semicolon or tab between the cells, in UTF-8, UTF-16 with its mark, or Latin-1. Columns are known
// by names that translate understands, which returns why a name is not known.
func readTable(name string, data []byte, translate func(string) (column, why string)) (*table, error) {
	t := &table{name: name, at: map[string]int{}}
	switch {
	case len(data) > MaxBytes:
		return nil, Faults{fmt.Sprintf("%s has over %d MB; it is no table of loads or photos", name, MaxBytes>>20)}
	case bytes.HasPrefix(data, []byte("PK\x03\x04")), bytes.HasPrefix(data, []byte{0xD0, 0xCF, 0x11, 0xE0}):
		return nil, Faults{name + " is a workbook; save it as CSV"}
	}
	text, err := decode(data)
	if err != nil || strings.ContainsRune(text, 0) {
		return nil, Faults{name + " is no text; save the table as CSV"}
	}
	if err := t.split(text); err != nil {
		return nil, err
	}
	if len(t.rows) == 0 {
		return nil, Faults{name + " is empty; its first line names the columns"}
	}
	t.name2columns(translate)
	return t, nil
}

func decode(data []byte) (string, error) {
	for _, mark := range [][]byte{{0xFF, 0xFE}, {0xFE, 0xFF}, {0xEF, 0xBB, 0xBF}} {
		if bytes.HasPrefix(data, mark) {
			out, _, err := transform.Bytes(unicode.BOMOverride(unicode.UTF8.NewDecoder()), data)
			return string(out), err
		}
	}
	if !utf8.Valid(data) {
		out, err := charmap.Windows1252.NewDecoder().Bytes(data)
		return string(out), err
	}
	return string(data), nil
}

func (t *table) split(text string) error {
	text = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text)
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.Comment, r.FieldsPerRecord, r.LazyQuotes = separator(text), '#', -1, true
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			return nil
		}
		var at *csv.ParseError
		if errors.As(err, &at) {
			return Faults{fmt.Sprintf("%s line %d: %v; check the quotation marks", t.name, at.Line, at.Err)}
		}
		if err != nil {
			return err
		}
		line, _ := r.FieldPos(0)
		if strings.TrimSpace(strings.Join(cells, "")) != "" {
			t.rows = append(t.rows, row{line, cells})
		}
	}
}

// separator is that of the header: semicolon or tab where it has one, else comma.
func separator(text string) rune {
	for line := range strings.Lines(text) {
		if strings.TrimSpace(line) == "" || strings.HasPrefix(line, "#") {
			continue
		}
		for _, sep := range ";\t" {
			if strings.ContainsRune(line, sep) {
				return sep
			}
		}
		break
	}
	return ','
}

// name2columns takes the header off the rows, and notes cells beyond it.
func (t *table) name2columns(translate func(string) (column, why string)) {
	t.header, t.head = t.rows[0].cells, t.rows[0].line
	for i, cell := range t.header {
		written := strings.TrimSpace(cell)
		if written == "" {
			continue
		}
		column, why := translate(strings.ToLower(strings.Join(strings.FieldsFunc(written, blank), "_")))
		if why != "" {
			t.fault(t.head, "the column %q is unknown; %s", written, why)
			continue
		}
		if _, twice := t.at[column]; twice {
			t.fault(t.head, "the column %s stands there twice", column)
		}
		t.at[column] = i
	}
	t.rows = t.rows[1:]
	for _, r := range t.rows {
		for i, cell := range r.cells {
			if strings.TrimSpace(cell) != "" && (i >= len(t.header) || strings.TrimSpace(t.header[i]) == "") {
				t.fault(r.line, "%q stands under no column; with decimal commas put ; between the cells, and a text with a comma into quotation marks", strings.TrimSpace(cell))
				break
			}
		}
	}
}

func blank(r rune) bool { return r == ' ' || r == '-' || r == '_' }

// need notes a column that is missing.
func (t *table) need(column, what string) {
	if _, ok := t.at[column]; !ok && !slices.ContainsFunc(t.faults, func(s string) bool { return strings.Contains(s, " stands there twice") }) {
		t.fault(t.head, "there is no column %s; %s", column, what)
	}
}
