package sieve

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
)

// boxOpenings are the openings that the names top, middle and lower stand for, mm.
var boxOpenings = map[string][3]float64{"19-8-4": {19, 8, 4}, "19-8-1.18": {19, 8, 1.18}}

// Boxes lists the box sets that names of parts may stand for; the first is the default.
func Boxes() []string { return []string{"19-8-4", "19-8-1.18"} }

var partNames = map[string]int{
	"top": 0, "upper": 0, "top box": 0, "upper box": 0, "top sieve": 0, "upper sieve": 0,
	"middle": 1, "mid": 1, "second": 1, "middle box": 1, "middle sieve": 1,
	"lower": 2, "third": 2, "lower box": 2, "lower sieve": 2,
}

var panNames = map[string]bool{"pan": true, "bottom": true, "bottom pan": true, "rest": true, "base": true, "tray": true, "fines": true, "0": true}

var openingForm = regexp.MustCompile(`^(?:>=|>|≥|over|on)?\s*([\d.,]+)\s*(mm|µm|μm|um|micron|microns|cm|in)?$`)

var lengthMM = map[string]float64{"": 1, "mm": 1, "cm": 10, "in": 25.4, "µm": 0.001, "μm": 0.001, "um": 0.001, "micron": 0.001, "microns": 0.001}

// Opening reads the name of a sieve as tables write it; see [ParseTable]. 0 is the pan.
func Opening(name, box string) (float64, error) {
	v, err := openingOf(name, box)
	if err != nil {
		return 0, fmt.Errorf("sieve: %q %s", name, strings.TrimPrefix(err.Error(), "sieve: "))
	}
	return v, nil
}

// openingOf reads the name of a sieve: a part of the box (top, middle, lower, pan) or an opening ("8", "8 mm",
// "> 8 mm", "1180 µm"). 0 is the pan. Box says what the parts of a box stand for; empty is 19-8-4.
func openingOf(name, box string) (float64, error) {
	s := strings.Join(strings.Fields(strings.ToLower(strings.NewReplacer("_", " ", "-", " ").Replace(name))), " ")
	if panNames[s] || strings.HasPrefix(s, "<") {
		return 0, nil
	}
	if box == "" {
		box = Boxes()[0]
	}
	openings, ok := boxOpenings[box]
	if !ok {
		return 0, fmt.Errorf("sieve: there is no box %q; use one of %s", box, strings.Join(Boxes(), ", "))
	}
	if i, ok := partNames[s]; ok {
		return openings[i], nil
	}
	m := openingForm.FindStringSubmatch(s)
	if m == nil {
		return 0, errors.New("is no sieve; use top, middle, lower, pan or the opening in mm")
	}
	v, err := ParseNumber(m[1])
	if err != nil {
		return 0, err
	}
	v *= lengthMM[m[2]]
	if !(v > 0.001 && v <= 500) {
		return 0, errors.New("is no opening of a sieve for chop; openings are millimetres")
	}
	return v, nil
}
