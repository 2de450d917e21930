package calib

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"gristmark/internal/result"
)

// Kind is what the scale is taken from.
type Kind string

// The kinds of rulers.
const (
	Auto  Kind = "auto" // card, then mat
	Card  Kind = "card"
	Mat   Kind = "mat"
	Grid  Kind = "grid"  // a drawn grid of known pitch
	Rule  Kind = "rule"  // a tape or ruler with ticks of known pitch
	Frame Kind = "frame" // a rectangle of known size
	Given Kind = "given" // a number of mm per px
)

// Spec says what to take the scale from.
type Spec struct {
	Kind     Kind
	PitchMM  float64 // of Grid and Rule, > 0
	WidthMM  float64 // of Frame, > 0
	HeightMM float64 // of Frame, > 0
	MMPerPx  float64 // of Given, > 0

	// GivenSD is the relative standard deviation of MMPerPx; 0 stands for AssumedGivenSD.
	GivenSD float64

	// PrintScale is printed length over nominal length of card and mat, as a print check found it; 0
	// stands for what Prints says of the sheet.
	PrintScale float64

	// Prints are the print scales of the sheets as they were found earlier.
	Prints Prints
}

// Prints holds printed length over nominal length for each sheet; 0: not checked, taken as 1.
type Prints struct {
	Card  float64 `json:"card,omitempty"`
	MatA4 float64 `json:"mat_a4,omitempty"`
	MatA3 float64 `json:"mat_a3,omitempty"`
}

// Of is the field for the sheet of a name; nil for a name that is no sheet's.
func (p *Prints) Of(sheet string) *float64 {
	return map[string]*float64{"card": &p.Card, "mat-a4": &p.MatA4, "mat-a3": &p.MatA3}[sheet]
}

// printScale is the print scale of a sheet and whether anything is known of it.
func (s Spec) printScale(sheet string) (scale float64, known bool) {
	if s.PrintScale != 0 {
		return s.PrintScale, true
	}
	if p := s.Prints.Of(sheet); p != nil && *p != 0 {
		return *p, true
	}
	return 1, false
}

// AssumedGivenSD is the relative standard deviation of a scale that a person states without saying
// how it was found (an assumption: two clicks a few px off on some hundred px).
const AssumedGivenSD = 0.02

// Limits of what a pitch, a side or a scale can sensibly be.
const (
	minPitchMM, maxPitchMM = 0.2, 500
	minSideMM, maxSideMM   = 10, 5000
	minScale, maxScale     = 1e-4, 100
	maxPrintError          = 10.0 // mm on the 100 mm line
)

// ErrSpec is wrapped by the errors of ParseSpec.
var ErrSpec = errors.New("calib: bad scale")

func specError(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrSpec, fmt.Sprintf(format, args...))
}

// ParseSpec reads auto, card, mat, grid:PITCHmm, rule:PITCHmm, frame:WIDTHxHEIGHTmm, or a plain
// number of mm per px. card:LENGTHmm and mat:LENGTHmm state how long the printed 100 mm line came out. The unit may be mm, cm or in (a pitch may be a fraction, 1/16in); without one
// it is mm.
func ParseSpec(s string) (Spec, error) {
	s = strings.ToLower(strings.TrimSpace(s))
	name, value, has := strings.Cut(s, ":")
	switch {
	case !has && (s == "" || s == string(Auto)):
		return Spec{Kind: Auto}, nil
	case !has && (s == string(Card) || s == string(Mat)):
		return Spec{Kind: Kind(s)}, nil
	case !has && (s == string(Grid) || s == string(Rule)):
		return Spec{}, specError("%s needs its pitch, as in %s:10mm", s, s)
	case !has && s == string(Frame):
		return Spec{}, specError("frame needs its size, as in frame:210x297mm")
	case !has:
		return parseGiven(s)
	}
	switch Kind(name) {
	case Grid, Rule:
		pitch, err := parseLength(value)
		if err == nil && !(pitch >= minPitchMM && pitch <= maxPitchMM) {
			err = specError("a pitch of %g mm is outside %g to %g mm", pitch, minPitchMM, float64(maxPitchMM))
		}
		return Spec{Kind: Kind(name), PitchMM: pitch}, err
	case Frame:
		return parseFrame(value)
	case Card, Mat:
		length, err := parseLength(value)
		if err == nil && math.Abs(length-100) > maxPrintError {
			err = specError("a 100 mm line printed %g mm long: print again at 100 %%", length)
		}
		return Spec{Kind: Kind(name), PrintScale: length / 100}, err
	}
	return Spec{}, specError("%q: choose auto, card, mat, grid:PITCHmm, rule:PITCHmm, frame:WIDTHxHEIGHTmm or a number of mm per px", s)
}

func parseGiven(s string) (Spec, error) {
	v, err := strconv.ParseFloat(strings.TrimSuffix(s, "mm/px"), 64)
	if err != nil {
		return Spec{}, specError("%q: choose auto, card, mat, grid:PITCHmm, rule:PITCHmm, frame:WIDTHxHEIGHTmm or a number of mm per px", s)
	}
	if !(v >= minScale && v <= maxScale) {
		return Spec{}, specError("%g mm per px is outside %g to %g", v, minScale, float64(maxScale))
	}
	return Spec{Kind: Given, MMPerPx: v}, nil
}

func parseFrame(value string) (Spec, error) {
	a, b, ok := strings.Cut(value, "x")
	if !ok {
		return Spec{}, specError("frame %q: write WIDTHxHEIGHTmm", value)
	}
	_, unit := splitUnit(b)
	if _, u := splitUnit(a); u == "" {
		a += unit
	}
	w, err := parseLength(a)
	if err != nil {
		return Spec{}, err
	}
	h, err := parseLength(b)
	if err != nil {
		return Spec{}, err
	}
	for _, side := range []float64{w, h} {
		if !(side >= minSideMM && side <= maxSideMM) {
			return Spec{}, specError("a side of %g mm is outside %g to %g mm", side, float64(minSideMM), float64(maxSideMM))
		}
	}
	return Spec{Kind: Frame, WidthMM: w, HeightMM: h}, nil
}

// parseLength reads a length with its unit in mm; a fraction may be written a/b.
func parseLength(s string) (float64, error) {
	number, unit := splitUnit(s)
	factor := map[string]float64{"": 1, "mm": 1, "cm": 10, "in": 25.4}[unit]
	top, bottom, fraction := strings.Cut(number, "/")
	v, err := strconv.ParseFloat(top, 64)
	if err == nil && fraction {
		var d float64
		d, err = strconv.ParseFloat(bottom, 64)
		v /= d
	}
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, specError("%q is no length: write it like 10mm or 1/16in", s)
	}
	return v * factor, nil
}

func splitUnit(s string) (number, unit string) {
	for _, u := range []string{"mm", "cm", "in"} {
		if n, ok := strings.CutSuffix(s, u); ok {
			return strings.TrimSpace(n), u
		}
	}
	return s, ""
}

// TwoPoints is the scale from two points that a person marked in the photo, lengthMM apart on the tray:
// each is taken to be off by 2 px, and the tilt, which is not known, to change the scale by 1 % (assumed).
func TwoPoints(a, b result.XY, lengthMM float64) (Spec, error) {
	px := dist(a, b)
	if !(px >= 20) || !(lengthMM > 0) {
		return Spec{}, specError("two points %.0f px apart with %g mm between them: mark points farther apart, and give the length", px, lengthMM)
	}
	const clickPx, tilt = 2, 0.01
	return Spec{Kind: Given, MMPerPx: lengthMM / px, GivenSD: math.Hypot(clickPx*math.Sqrt2/px, tilt)}, nil
}
