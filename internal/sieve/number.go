package sieve

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

var numberForm = regexp.MustCompile(`^[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?$`)
var pointThousands = regexp.MustCompile(`^[+-]?\d{1,3}(\.\d{3})+,\d+$`)
var commaThousands = regexp.MustCompile(`^[+-]?\d{1,3}(,\d{3})+\.\d+$`)
var unclear = regexp.MustCompile(`^[+-]?[1-9]\d{0,2}(,\d{3})+$`)

// grams in a unit that a cell or a header may carry.
var grams = map[string]float64{"g": 1, "gram": 1, "grams": 1, "gr": 1, "kg": 1000, "mg": 0.001, "oz": 28.349523125, "lb": 453.59237, "lbs": 453.59237}

// ParseNumber reads a number with a decimal point or comma and spaces between thousands. "1,234" is
// refused: it may be a thousand or a little over one.
func ParseNumber(s string) (float64, error) {
	s = strings.NewReplacer(" ", "", "\u00a0", "", "\u202f", "", "\u2009", "", "'", "", "\u2212", "-").Replace(strings.TrimSpace(s))
	switch {
	case s == "":
		return 0, errors.New("is empty")
	case unclear.MatchString(s):
		return 0, errors.New("may mean thousands or a decimal comma; write it without the comma")
	case pointThousands.MatchString(s):
		s = strings.ReplaceAll(s, ".", "")
	case commaThousands.MatchString(s):
		s = strings.ReplaceAll(s, ",", "")
	case !numberForm.MatchString(s):
		return 0, errors.New("is not a number")
	}
	v, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, errors.New("is too large a number")
	}
	return v, nil
}

var unitTail = regexp.MustCompile(`^(.*[\d.,\s])\s*([a-zA-Zµμ%]+)$`)

// splitUnit takes a trailing unit off a cell: "340 g" is "340" and "g".
func splitUnit(s string) (number, unit string) {
	s = strings.TrimSpace(s)
	if m := unitTail.FindStringSubmatch(s); m != nil {
		return strings.TrimSpace(m[1]), strings.ToLower(m[2])
	}
	return s, ""
}

// parseMass reads a mass in grams; a unit in the cell wins over the column's.
func parseMass(s string, columnUnit float64) (float64, error) {
	number, unit := splitUnit(s)
	factor := columnUnit
	if unit != "" {
		f, ok := grams[unit]
		if !ok {
			if _, err := ParseNumber(number); err != nil {
				return 0, errors.New("is not a number")
			}
			return 0, errors.New("has a unit that is no mass; use g, kg, mg, oz or lb")
		}
		factor = f
	}
	v, err := ParseNumber(number)
	return v * factor, err
}

// ParseGrams reads a mass as typed, in grams or with a unit: "240", "240 g", "0.24 kg".
func ParseGrams(s string) (float64, error) {
	v, err := parseMass(s, 1)
	if err != nil {
		return 0, fmt.Errorf("sieve: the mass %q %w", strings.TrimSpace(s), err)
	}
	if v < 0 {
		return 0, fmt.Errorf("sieve: the mass %q is negative", strings.TrimSpace(s))
	}
	return v, nil
}

// comma and point tell how a number writes its decimals: a table that does both is refused.
func writesComma(s string) bool {
	n, _ := splitUnit(s)
	return strings.Contains(n, ",") && !strings.Contains(n, ".")
}

func writesPoint(s string) bool {
	n, _ := splitUnit(s)
	return strings.Contains(n, ".") && !strings.Contains(n, ",")
}
