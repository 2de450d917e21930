package sieve

import (
	"fmt"
	"regexp"
	"strings"
)

// column is what a column of the table means.
type column string

const (
	colSieve    column = "sieve"
	colMass     column = "mass"
	colShare    column = "share"
	colTare     column = "tare"
	colDry      column = "dry"
	colDM       column = "dm"
	colDiagonal column = "diagonal"
	colShake    column = "shake"
	colPutIn    column = "put in"
	colWhole    column = "whole kernels"
	colLarge    column = "large pieces"
	colCounted  column = "counted"
	colPhoto    column = "photo"
	colNote     column = "note"
)

var columnNames = map[string]column{
	"sieve": colSieve, "sieves": colSieve, "screen": colSieve, "box": colSieve, "part": colSieve, "fraction": colSieve,
	"opening": colSieve, "mesh": colSieve, "sieve opening": colSieve, "screen opening": colSieve, "size": colSieve,
	"mass": colMass, "weight": colMass, "wt": colMass, "gross": colMass, "net": colMass, "gross mass": colMass, "net mass": colMass, "net weight": colMass, "gross weight": colMass,
	"share": colShare, "percent": colShare, "pct": colShare, "%": colShare, "retained": colShare,
	"tare": colTare, "tare mass": colTare, "tare weight": colTare,
	"dry": colDry, "dry mass": colDry, "dry weight": colDry, "dm mass": colDry,
	"dm": colDM, "dry matter": colDM,
	"diagonal": colDiagonal,
	"shake":    colShake, "replicate": colShake, "rep": colShake, "sample": colShake, "load": colShake,
	"put in": colPutIn, "mass put in": colPutIn, "sample mass": colPutIn,
	"whole kernels": colWhole, "whole": colWhole,
	"large pieces": colLarge, "large kernel pieces": colLarge, "large kernels": colLarge,
	"counted": colCounted, "counted mass": colCounted,
	"note": colNote, "notes": colNote, "remark": colNote, "comment": colNote,
	"photo": colPhoto, "photos": colPhoto, "picture": colPhoto, "file": colPhoto,
}

var headerUnit = regexp.MustCompile(`^(.*?) ?(g|gram|grams|kg|mg|oz|lb|lbs|pct|%|mm|percent)$`)

// cell is a header cell: its meaning and the unit of its numbers.
type cell struct {
	is   column
	text string  // as written
	unit float64 // grams a unit, for masses
	pct  bool    // the header names percent
}

// readHeaderCell understands "mass_g", "Mass (kg)", "weight", "share %".
func readHeaderCell(text string) cell {
	s := strings.ToLower(strings.NewReplacer("_", " ", "(", " ", ")", " ", "[", " ", "]", " ", "/", " ", "-", " ", ":", " ").Replace(text))
	s = strings.Join(strings.Fields(s), " ")
	c := cell{text: strings.TrimSpace(text), unit: 1}
	if is, ok := columnNames[s]; ok {
		c.is, c.pct = is, s == "pct" || s == "percent" || s == "%"
		return c
	}
	m := headerUnit.FindStringSubmatch(s)
	if m == nil {
		return c
	}
	c.is = columnNames[m[1]]
	if g, ok := grams[m[2]]; ok {
		c.unit = g
	}
	c.pct = m[2] == "pct" || m[2] == "%" || m[2] == "percent"
	if c.pct && c.is == colMass {
		c.is = colShare
	}
	return c
}

// header is the row that names the columns.
type header struct {
	row  int
	at   map[column]int
	cell []cell
}

// scanRows is how far down the header is looked for: spreadsheets carry titles above it.
const scanRows = 20

// findHeader looks for the first row that names the sieves and the masses or shares.
func findHeader(t Table) (header, error) {
	for i, row := range t.Rows {
		if i >= scanRows {
			break
		}
		h := header{row: i, at: map[column]int{}}
		for j, text := range row {
			c := readHeaderCell(text)
			h.cell = append(h.cell, c)
			if c.is == "" || c.is == colNote {
				continue
			}
			if k, twice := h.at[c.is]; twice && h.named() {
				return h, fmt.Errorf("sieve: row %d, column %s: %q and column %s mean the same; keep one", t.Line[i], letter(j), text, letter(k))
			}
			h.at[c.is] = j
		}
		if h.named() {
			return h, nil
		}
	}
	return header{}, fmt.Errorf("sieve: row %d: no header found; the first row must name the columns, such as sieve,mass_g", t.Line[0])
}

func (h header) named() bool {
	_, sieve := h.at[colSieve]
	_, mass := h.at[colMass]
	_, share := h.at[colShare]
	return sieve && (mass || share)
}

func (h header) has(c column) bool { _, ok := h.at[c]; return ok }

// unused lists the columns that mean nothing here.
func (h header) unused() []string {
	var out []string
	for j, c := range h.cell {
		if c.is == "" && c.text != "" {
			out = append(out, fmt.Sprintf("column %s (%s)", letter(j), c.text))
		}
	}
	return out
}

// letter names a column as spreadsheets do: A, B, …, Z, AA.
func letter(j int) string {
	if j < 26 {
		return string(rune('A' + j))
	}
	return letter(j/26-1) + string(rune('A'+j%26))
}
