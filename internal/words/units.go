package words

import (
	"fmt"
	"math"

	"gristmark/internal/result"
)

// Units are metric or those of the United States.
type Units int

// The units there are.
const (
	Metric Units = iota
	US           // inches, pounds, quarts
)

// ParseUnits reads "metric" or "us"; empty is metric.
func ParseUnits(s string) (Units, error) {
	switch s {
	case "", "metric":
		return Metric, nil
	case "us":
		return US, nil
	}
	return Metric, fmt.Errorf("words: there are no units %q; choose metric or us", s)
}

// UnitNames are the names of the units there are.
func UnitNames() []string { return []string{"metric", "us"} }

// String is the name that ParseUnits reads.
func (u Units) String() string { return UnitNames()[u] }

// What one unit of the United States is, exactly: NIST Handbook 44 (2024), appendix C.
const (
	mmPerInch       = 25.4
	gramsPerPound   = 453.59237
	litresPerQuart  = 0.946352946
	tonnesPerShort  = 0.90718474
	squareMMPerInch = mmPerInch * mmPerInch
)

func (w *Words) us() bool { return w.Units() == US }

// LengthUnit is "mm" or "in".
func (w *Words) LengthUnit() string {
	if w.us() {
		return "in"
	}
	return "mm"
}

// InLengthUnit gives a length of so many mm in the unit of lengths, as for the axis of a chart.
func (w *Words) InLengthUnit(mm float64) float64 {
	if w.us() {
		return mm / mmPerInch
	}
	return mm
}

// Length prints a length of so many mm with its unit and about three figures: "10.2 mm", "0.40 in".
func (w *Words) Length(mm float64) string { return w.Bare(mm) + " " + w.LengthUnit() }

// Bare prints a length of so many mm without its unit.
func (w *Words) Bare(mm float64) string {
	v := w.InLengthUnit(mm)
	return w.Number(v, w.lengthDecimals(v))
}

// Limit prints a length that is a round number of mm, as 19, without its unit and without zeros at its end; in inches two decimals.
func (w *Words) Limit(mm float64) string {
	if w.us() {
		return w.Bare(mm)
	}
	return w.Trimmed(mm, 2)
}

func (w *Words) lengthDecimals(v float64) int {
	if !w.us() {
		return decimalsFor(v)
	}
	switch a := math.Abs(v); {
	case a < 0.0995:
		return 3
	case a < 9.95:
		return 2
	}
	return 1
}

// LengthInterval prints an estimate of a length in mm, without its unit: "10.2 (9.6 to 10.9)".
func (w *Words) LengthInterval(e result.Estimate) string {
	if !w.us() {
		return w.Interval(e)
	}
	v, low, high := e.Value/mmPerInch, e.Low/mmPerInch, e.High/mmPerInch
	d := w.lengthDecimals(v)
	return w.T("%s (%s to %s)", w.Number(v, d), w.Number(low, d), w.Number(high, d))
}

// Area prints an area of so many mm²: "62 mm²", "0.096 in²".
func (w *Words) Area(mm2 float64) string { return w.BareArea(mm2) + " " + w.LengthUnit() + "²" }

// BareArea prints an area of so many mm² without its unit.
func (w *Words) BareArea(mm2 float64) string {
	if w.us() {
		return w.Number(mm2/squareMMPerInch, 3)
	}
	return w.Number(mm2, 0)
}

// MassUnit is "g" or "lb".
func (w *Words) MassUnit() string {
	if w.us() {
		return "lb"
	}
	return "g"
}

// BareMass prints a mass of so many g without its unit: in g with at most one decimal, in lb with three.
func (w *Words) BareMass(g float64) string {
	if w.us() {
		return w.Number(g/gramsPerPound, 3)
	}
	return w.Trimmed(g, 1)
}

// Mass prints a mass of so many g.
func (w *Words) Mass(g float64) string { return w.BareMass(g) + " " + w.MassUnit() }

// PerMass turns a count per kg into one per kg or per lb; its name is that of PerMassUnit.
func (w *Words) PerMass(perKg float64) float64 {
	if w.us() {
		return perKg * gramsPerPound / 1000
	}
	return perKg
}

// PerMassUnit is "kg" or "lb".
func (w *Words) PerMassUnit() string {
	if w.us() {
		return "lb"
	}
	return "kg"
}

// Throughput prints so many tonnes an hour: "250 t/h", "276 short tons/h".
func (w *Words) Throughput(tonnes float64) string {
	if w.us() {
		return w.Number(tonnes/tonnesPerShort, 0) + " short tons/h"
	}
	return w.Trimmed(tonnes, 1) + " t/h"
}

// Volume prints a volume of so many litres: "0.946 l", "1 qt".
func (w *Words) Volume(litres float64) string {
	if w.us() {
		return w.Trimmed(litres/litresPerQuart, 2) + " qt"
	}
	return w.Trimmed(litres, 3) + " l"
}

// PerVolume turns a count per litre into one per litre or per quart.
func (w *Words) PerVolume(perLitre float64) float64 {
	if w.us() {
		return perLitre * litresPerQuart
	}
	return perLitre
}
