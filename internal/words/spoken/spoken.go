// Package spoken judges what the program said, for tests: whether a text that should be German holds English, and whether one that
// should be in inches, pounds and quarts holds metric figures.
package spoken

import (
	"regexp"
	"strings"
)

// english are words that every English sentence of the program has some of and no German one has.
var english = regexp.MustCompile(`(?i)(?:^|[^\pL_-])(the|of|is|are|and|or|with|for|from|by|to|not|needs|takes|must|give|use|lists|kernels?|pieces|stover|target|shakes?|photos|mean|mass|share)(?:[^\pL_]|$)`)

// unchanged are parts of the command line, names of files, columns and sets, and citations: no language changes them.
var unchanged = regexp.MustCompile(`--?[a-z][a-z-]*( [a-z]+)?|gristmark [a-z]+( [a-z]+)?|"[^"]*"|'[^']*'|` + "`[^`]*`" +
	`|fresh oder fermented|kernels, pieces oder mixed|card oder mat|auto, card, mat|conventional, shredding|Spalte [a-z_]+|top, middle, lower|mass_[a-z]+|[a-z]+=[0-9A-Z]+|[a-z-]+/[a-z/-]+|[a-z-]+\.(csv|json|jpg|pdf|xlsx)|African Journal of Biotechnology|J\. Dairy Sci\.|Armentano & Taysom|et al\.|maize-silage|mixed-ration|haylage|sieve,mass_g|(lab fit|lab|batch|plan|sieve|cup|targets|guide|measure|compare|calibrate|card) (nimmt|braucht)|sample, water-test, shake, tray, cup`)

// English is the first English word in a text for people, empty where there is none.
func English(text string) string {
	m := english.FindStringSubmatch(unchanged.ReplaceAllString(Unbroken(text), "…"))
	if m == nil {
		return ""
	}
	return m[1]
}

// DecimalPoint is the first number with a point and a unit behind it, empty where there is none.
func DecimalPoint(text string) string {
	return strings.TrimSpace(point.FindString(unchanged.ReplaceAllString(Unbroken(text), "…")))
}

var point = regexp.MustCompile(`(^|[ (])\d+\.\d+ ?(%|mm|in|g|lb|px)`)

// names of the trade that stay in mm: the mesh, the sieves of the box, the conventions of fibre, and the line of the card.
var names = regexp.MustCompile(`4[.,]75[ -]mm|1[.,]18[ -]mm|19(, 8)?(, 4)?( and| und|,) (8|4|1[.,]18) mm|100[ -]mm[ -][lL]ine?|(convention|Festlegung) [0-9]+ mm`)

var metric = regexp.MustCompile(`[\d)] ?(?:mm²?|cm|g|kg|l|t/h|litres?)(?:[^\pL/³²]|$)|(?:mass|shown|Masse) g\b|, mm\b| mm/px`)

// Metric is the first figure in metric units that is no name of the trade, empty where there is none.
func Metric(text string) string {
	return strings.TrimSpace(metric.FindString(names.ReplaceAllString(unchanged.ReplaceAllString(Unbroken(text), "…"), "…")))
}

// Unbroken is a text with its lines joined, as sentences are broken anywhere.
func Unbroken(text string) string { return strings.Join(strings.Fields(text), " ") }
