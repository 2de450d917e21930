package sieve

import (
	"fmt"
	"math"
	"strings"
)

// Options of reading a table.
type Options struct {
	Box    string   // what top, middle and lower stand for: "19-8-4" (also when empty) or "19-8-1.18"
	PutInG *float64 // mass put in, g; used where the table gives none
	DMPct  *float64 // dry matter of all fractions, %; used where the table gives none
}

// Weighing is one sample as weighed: one shake or several.
type Weighing struct {
	Shakes []Shake
	Given  string   // "mass" or "share"
	Notes  []string // what was skipped, a sentence each
}

// Parse reads the bytes of a CSV or XLSX file; see [ReadTable] and [ParseTable].
func Parse(data []byte, opt Options) (Weighing, error) {
	t, err := ReadTable(data)
	if err != nil {
		return Weighing{}, err
	}
	return ParseTable(t, opt)
}

// ParseTable understands a table: a header row (looked for in the first 20 rows), then one row a fraction,
// coarse to fine, the pan last. A fault is one sentence that names row and column.
//
// Columns: sieve (top, middle, lower, pan, or the opening in mm) and mass_g (also in kg, mg, oz, lb), or share_pct in its
// place; tare_g is taken off the mass; dry_g or dm_pct give the dry mass; put_in_g the mass put in; shake tells repeated
// shakes of one sample apart; diagonal_mm the diagonal of a square opening; whole_kernels and large_pieces are
// counts, counted_g the mass they were counted in (or that the photo shows); photo names a photo of the content. A row named total is checked against the sum.
func ParseTable(t Table, opt Options) (Weighing, error) {
	t = t.withoutEmpty()
	if len(t.Rows) == 0 {
		return Weighing{}, fmt.Errorf("sieve: the table is empty")
	}
	h, err := findHeader(t)
	if err != nil {
		return Weighing{}, err
	}
	p := parser{table: t, header: h, opt: opt, shakes: map[string]*building{}}
	if err := p.decimals(); err != nil {
		return Weighing{}, err
	}
	for i := h.row + 1; i < len(t.Rows); i++ {
		if err := p.row(i); err != nil {
			return Weighing{}, err
		}
	}
	return p.finish()
}

func (t Table) withoutEmpty() Table {
	var out Table
	for i, row := range t.Rows {
		if strings.TrimSpace(strings.Join(row, "")) != "" {
			out.Rows, out.Line = append(out.Rows, row), append(out.Line, t.Line[i])
		}
	}
	return out
}

// building is a shake while its rows are read.
type building struct {
	Shake
	lines  []int    // of the fractions
	totalG *float64 // of a row named total
	total  int      // its line
	digits int      // fewest decimals of the shares
}

type parser struct {
	table  Table
	header header
	opt    Options
	shakes map[string]*building
	order  []string
}

// fault is a sentence about one cell.
func (p *parser) fault(i int, c column, format string, args ...any) error {
	j := p.header.at[c]
	return fmt.Errorf("sieve: row %d, column %s (%s): %s", p.table.Line[i], letter(j), p.header.cell[j].text, fmt.Sprintf(format, args...))
}

// cell returns the trimmed text of a column, empty where the table has none.
func (p *parser) cell(i int, c column) string {
	j, ok := p.header.at[c]
	if !ok || j >= len(p.table.Rows[i]) {
		return ""
	}
	return strings.TrimSpace(p.table.Rows[i][j])
}

var numeric = []column{colMass, colShare, colTare, colDry, colDM, colPutIn}

// decimals refuses a table that writes both decimal points and decimal commas.
func (p *parser) decimals() error {
	comma, point := -1, -1
	for i := p.header.row + 1; i < len(p.table.Rows); i++ {
		for _, c := range numeric {
			s := p.cell(i, c)
			if writesComma(s) && !unclear.MatchString(s) {
				comma = i
			}
			if writesPoint(s) {
				point = i
			}
			if comma >= 0 && point >= 0 {
				return p.fault(i, c, "%q: the table mixes decimal commas and decimal points (row %d writes the other); use one", s, p.table.Line[comma+point-i])
			}
		}
	}
	return nil
}

func (p *parser) row(i int) error {
	if extra := p.extra(i); extra >= 0 {
		return fmt.Errorf("sieve: row %d, column %s: %q stands beyond the last named column; with decimal commas, put ; between the cells",
			p.table.Line[i], letter(extra), strings.TrimSpace(p.table.Rows[i][extra]))
	}
	name := p.cell(i, colSieve)
	if name == "" {
		return p.fault(i, colSieve, "is empty; name the sieve")
	}
	b := p.building(p.cell(i, colShake))
	switch strings.ToLower(name) {
	case "total", "sum", "all":
		return p.totalRow(i, b)
	case "put in", "put_in", "sample", "input":
		return p.putInRow(i, b)
	}
	opening, err := openingOf(name, p.opt.Box)
	if err != nil {
		return p.fault(i, colSieve, "%q %v", name, err)
	}
	if err := p.inOrder(i, b, name, opening); err != nil {
		return err
	}
	f, err := p.fraction(i, name, opening, b)
	if err != nil {
		return err
	}
	b.Fractions, b.lines = append(b.Fractions, f), append(b.lines, p.table.Line[i])
	return p.putIn(i, b)
}

// extra is the first filled cell beyond the header, or -1.
func (p *parser) extra(i int) int {
	row := p.table.Rows[i]
	for j := len(p.header.cell); j < len(row); j++ {
		if strings.TrimSpace(row[j]) != "" {
			return j
		}
	}
	return -1
}

func (p *parser) building(name string) *building {
	b, ok := p.shakes[name]
	if !ok {
		b = &building{Shake: Shake{Name: name}, digits: 99}
		p.shakes[name] = b
		p.order = append(p.order, name)
	}
	return b
}

// inOrder refuses a sieve that stands twice or after a finer one.
func (p *parser) inOrder(i int, b *building, name string, opening float64) error {
	for k, f := range b.Fractions {
		if f.OpeningMM == opening {
			return p.fault(i, colSieve, "%q stands there twice, in row %d too; weigh each sieve once or use a shake column", name, b.lines[k])
		}
	}
	if n := len(b.Fractions); n > 0 {
		last := b.Fractions[n-1]
		if last.IsPan() {
			return p.fault(i, colSieve, "%q comes after the pan; list the sieves coarse to fine, the pan last", name)
		}
		if opening > last.OpeningMM {
			return p.fault(i, colSieve, "%q comes after the finer %q; list the sieves coarse to fine, the pan last", name, last.Label)
		}
	}
	return nil
}

func (p *parser) fraction(i int, name string, opening float64, b *building) (Fraction, error) {
	f := Fraction{Label: name, OpeningMM: opening, Photo: p.cell(i, colPhoto)}
	mass, err := p.mass(i, b)
	if err != nil {
		return f, err
	}
	f.MassG = mass
	if f.DryG, err = p.dry(i, mass); err != nil {
		return f, err
	}
	if d, err := p.number(i, colDiagonal, 0, 1000); err != nil {
		return f, err
	} else if d != nil {
		if *d < opening {
			return f, p.fault(i, colDiagonal, "%g mm is less than the opening of %g mm", *d, opening)
		}
		f.DiagonalMM = *d
	}
	if f.WholeKernels, err = p.number(i, colWhole, 0, 1e6); err != nil {
		return f, err
	}
	if f.LargePieces, err = p.number(i, colLarge, 0, 1e6); err != nil {
		return f, err
	}
	counted, err := p.grams(i, colCounted)
	if err != nil {
		return f, err
	}
	if counted != nil {
		if *counted <= 0 || *counted > mass*1.001 {
			return f, p.fault(i, colCounted, "%g g were counted of a fraction of %g g; it must be more than 0 and no more than the fraction", *counted, mass)
		}
		f.CountedG = *counted
	}
	return f, nil
}

// mass is the net mass of a row; shares stand for grams of 100.
func (p *parser) mass(i int, b *building) (float64, error) {
	if !p.header.has(colMass) {
		v, err := p.number(i, colShare, 0, 100)
		if err != nil {
			return 0, err
		}
		if v == nil {
			return 0, p.fault(i, colShare, "is empty; write 0 where a sieve was empty")
		}
		b.digits = min(b.digits, decimalsOf(p.cell(i, colShare)))
		return *v, nil
	}
	v, err := p.grams(i, colMass)
	if err != nil {
		return 0, err
	}
	if v == nil {
		return 0, p.fault(i, colMass, "is empty; write 0 where a sieve was empty")
	}
	tare, err := p.grams(i, colTare)
	if err != nil {
		return 0, err
	}
	if tare != nil {
		if *tare > *v {
			return 0, p.fault(i, colTare, "the tare of %g g is more than the mass of %g g; the mass must be the gross one", *tare, *v)
		}
		return *v - *tare, nil
	}
	return *v, nil
}

// grams reads a mass column; nil where the cell is empty.
func (p *parser) grams(i int, c column) (*float64, error) {
	s := p.cell(i, c)
	if s == "" {
		return nil, nil
	}
	v, err := parseMass(s, p.header.cell[p.header.at[c]].unit)
	switch {
	case err != nil:
		return nil, p.fault(i, c, "%q %v", s, err)
	case v < 0:
		return nil, p.fault(i, c, "%q is negative; a mass is 0 or more (is the tare taken off twice?)", s)
	case v > 1e6:
		return nil, p.fault(i, c, "%q is over a tonne; check the unit", s)
	}
	return &v, nil
}

// number reads a plain number within low..high; nil where the cell is empty.
func (p *parser) number(i int, c column, low, high float64) (*float64, error) {
	s := p.cell(i, c)
	if s == "" {
		return nil, nil
	}
	n, _ := splitUnit(s)
	v, err := ParseNumber(n)
	if err != nil {
		return nil, p.fault(i, c, "%q %v", s, err)
	}
	if v < low || v > high {
		return nil, p.fault(i, c, "%q must lie between %g and %g", s, low, high)
	}
	return &v, nil
}

// dry is the dry mass of a row, from dry_g, dm_pct or the option.
func (p *parser) dry(i int, mass float64) (*float64, error) {
	d, err := p.grams(i, colDry)
	if err != nil {
		return nil, err
	}
	if d != nil {
		if *d > mass*1.001 {
			return nil, p.fault(i, colDry, "the dry mass of %g g is more than the mass of %g g", *d, mass)
		}
		return d, nil
	}
	dm, err := p.number(i, colDM, 0, 100)
	if err != nil {
		return nil, err
	}
	if dm == nil {
		dm = p.opt.DMPct
	}
	if dm == nil {
		return nil, nil
	}
	v := mass * *dm / 100
	return &v, nil
}

func (p *parser) putIn(i int, b *building) error {
	v, err := p.grams(i, colPutIn)
	if err != nil || v == nil {
		return err
	}
	if b.PutInG != nil && math.Abs(*b.PutInG-*v) > 1e-9 {
		return p.fault(i, colPutIn, "%g g, but a row above says %g g for the same shake", *v, *b.PutInG)
	}
	b.PutInG = v
	return nil
}

// putInRow is a row that names the mass put in: "put in,505".
func (p *parser) putInRow(i int, b *building) error {
	v, err := p.grams(i, colMass)
	if err == nil && v != nil {
		b.PutInG = v
	}
	return err
}

func (p *parser) totalRow(i int, b *building) error {
	c := colMass
	if !p.header.has(colMass) {
		c = colShare
	}
	s := p.cell(i, c)
	if s == "" {
		return nil
	}
	v, err := parseMass(strings.TrimSuffix(s, "%"), p.header.cell[p.header.at[c]].unit)
	if err != nil {
		return p.fault(i, c, "%q %v", s, err)
	}
	b.totalG, b.total = &v, p.table.Line[i]
	return nil
}

func decimalsOf(s string) int {
	n, _ := splitUnit(s)
	if k := strings.LastIndexAny(n, ".,"); k >= 0 {
		return len(n) - k - 1
	}
	return 0
}
