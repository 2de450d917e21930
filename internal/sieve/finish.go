package sieve

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Plausible masses of one shake, g: a shake of chop is about 500 g of maize silage, less of haylage
// (common practice). Outside of these the unit is wrong.
const (
	leastShakeG = 5.0
	mostShakeG  = 20000.0
)

// finish checks the shakes as wholes.
func (p *parser) finish() (Weighing, error) {
	w := Weighing{Given: "mass"}
	if !p.header.has(colMass) {
		w.Given = "share"
	}
	for _, name := range p.order {
		b := p.shakes[name]
		if err := b.check(w.Given); err != nil {
			return Weighing{}, err
		}
		if b.PutInG == nil && w.Given == "mass" {
			b.PutInG = p.opt.PutInG
		}
		if err := b.mixedUnits(); err != nil {
			return Weighing{}, err
		}
		w.Shakes = append(w.Shakes, b.Shake)
	}
	if len(w.Shakes) == 0 {
		return Weighing{}, fmt.Errorf("sieve: row %d: no fraction follows the header", p.table.Line[p.header.row])
	}
	if err := sameStack(w.Shakes); err != nil {
		return Weighing{}, err
	}
	if u := p.header.unused(); len(u) > 0 {
		w.Notes = append(w.Notes, "not used: "+strings.Join(u, ", "))
	}
	return w, nil
}

func (b *building) of() string {
	if b.Name == "" {
		return ""
	}
	return fmt.Sprintf(" of shake %q", b.Name)
}

func (b *building) check(given string) error {
	n := len(b.Fractions)
	if n == 0 {
		return fmt.Errorf("sieve: there is no fraction%s", b.of())
	}
	last := b.lines[n-1]
	if !b.Fractions[n-1].IsPan() {
		return fmt.Errorf("sieve: row %d, column sieve: %q is the last fraction%s and there is no pan; add the row pan, with 0 if it was empty", last, b.Fractions[n-1].Label, b.of())
	}
	if n == 1 {
		return fmt.Errorf("sieve: row %d, column sieve: only the pan was weighed%s; add the sieves above it", last, b.of())
	}
	if err := b.checkTotal(given); err != nil {
		return err
	}
	return plausible(b.Shake, given, last)
}

func (b *building) checkTotal(given string) error {
	sum := b.TotalG()
	if b.totalG != nil && math.Abs(sum-*b.totalG) > max(0.15, 0.002*sum) {
		return fmt.Errorf("sieve: row %d, column mass: the total says %g, the fractions%s sum to %.6g", b.total, *b.totalG, b.of(), sum)
	}
	if given != "share" {
		return nil
	}
	// Published rows of shares sum to 99.96 to 100.12; shares rounded to whole percent stray further.
	allow := max(0.15, 0.5*math.Pow(10, -float64(b.digits))*float64(len(b.Fractions)))
	if math.Abs(sum-100) > allow+1e-9 {
		return fmt.Errorf("sieve: rows %d to %d, column share: the shares%s sum to %.6g %%, not 100", b.lines[0], b.lines[len(b.lines)-1], b.of(), sum)
	}
	return nil
}

// plausible refuses masses in the wrong unit.
func plausible(s Shake, given string, line int) error {
	total := s.TotalG()
	switch {
	case total <= 0:
		return fmt.Errorf("sieve: row %d, column mass: all fractions are 0", line)
	case given == "share":
		return nil
	case total < leastShakeG:
		return fmt.Errorf("sieve: row %d, column mass: the fractions sum to %.3g g; a shake is some hundred grams: are they kilograms? Name the column mass_kg then", line, total)
	case total > mostShakeG:
		return fmt.Errorf("sieve: row %d, column mass: the fractions sum to %.4g g; a shake is some hundred grams: are they milligrams? Name the column mass_mg then", line, total)
	}
	return nil
}

// mixedUnits refuses a shake that comes up short of the mass put in by just one row in kilograms.
func (b *building) mixedUnits() error {
	if b.PutInG == nil {
		return nil
	}
	sum, in := b.TotalG(), *b.PutInG
	off := func(total float64) float64 { return math.Abs(in-total) / in }
	for i, f := range b.Fractions {
		if f.MassG > 0 && off(sum) > 0.05 && off(sum+999*f.MassG) < 0.02 {
			return fmt.Errorf("sieve: row %d, column mass: %g g would fit the %g g put in if it were kilograms; use one unit", b.lines[i], f.MassG, in)
		}
	}
	return nil
}

// sameStack refuses repeated shakes through different sieves.
func sameStack(shakes []Shake) error {
	first := shakes[0]
	for _, s := range shakes[1:] {
		if !slices.Equal(first.Openings(), s.Openings()) {
			return fmt.Errorf("sieve: shakes %q and %q went through different sieves; put them in different files", first.Name, s.Name)
		}
	}
	return nil
}

// ParseTyped reads fractions typed on the command line, "top=12,middle=340,lower=120,pan=28", in any order; masses in
// grams or with a unit. A decimal comma cannot be told from the comma between fractions: use points, or ; between.
func ParseTyped(s string, opt Options) (Weighing, error) {
	sep := ","
	if strings.Contains(s, ";") {
		sep = ";"
	}
	var shake Shake
	for _, part := range strings.Split(s, sep) {
		if strings.TrimSpace(part) == "" {
			continue
		}
		f, err := typedFraction(part, opt)
		if err != nil {
			return Weighing{}, err
		}
		for _, other := range shake.Fractions {
			if other.OpeningMM == f.OpeningMM {
				return Weighing{}, fmt.Errorf("sieve: %q and %q are the same sieve; name it once", other.Label, f.Label)
			}
		}
		shake.Fractions = append(shake.Fractions, f)
	}
	shake = shake.Sort()
	shake.PutInG = opt.PutInG
	n := len(shake.Fractions)
	if n < 2 || !shake.Fractions[n-1].IsPan() {
		return Weighing{}, errors.New("sieve: the fractions need at least one sieve and the pan, such as top=12,middle=340,lower=120,pan=28")
	}
	if err := plausible(shake, "mass", 1); err != nil {
		return Weighing{}, err
	}
	return Weighing{Shakes: []Shake{shake}, Given: "mass"}, nil
}

func typedFraction(part string, opt Options) (Fraction, error) {
	name, value, ok := strings.Cut(part, "=")
	name = strings.TrimSpace(name)
	if !ok {
		return Fraction{}, fmt.Errorf("sieve: %q has no mass; write %s=MASS", strings.TrimSpace(part), name)
	}
	opening, err := openingOf(name, opt.Box)
	if err != nil {
		return Fraction{}, fmt.Errorf("sieve: %q %w", name, err)
	}
	v, err := parseMass(value, 1)
	if err != nil {
		return Fraction{}, fmt.Errorf("sieve: the mass %q of %s %w", strings.TrimSpace(value), name, err)
	}
	if v < 0 {
		return Fraction{}, fmt.Errorf("sieve: the mass of %s is negative", name)
	}
	f := Fraction{Label: name, OpeningMM: opening, MassG: v}
	if opt.DMPct != nil {
		dry := v * *opt.DMPct / 100
		f.DryG = &dry
	}
	return f, nil
}
