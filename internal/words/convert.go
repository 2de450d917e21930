package words

import (
	"regexp"
	"strconv"
	"strings"
)

// Numbers with a unit in a finished text: one, or several as in "26 to 30 mm" and "10.5 × 7.3 × 4.6 mm".
var (
	aNumber  = `\d+(?:[.,]\d+)?`
	between  = `(?: to | bis | auf |, | and | und | or | oder | by | × | x |–|-)`
	measured = regexp.MustCompile(`(` + aNumber + `(?:` + between + aNumber + `)*)([ \x{00a0}])(mm²|mm|cm|kg|g|t/h|litres|litre|l)(/px|/h|\b|$)`)
	oneOf    = regexp.MustCompile(aNumber)
)

// inUS turns the lengths, masses and volumes of a finished text into those of the United States. Names stay as the trade says them:
// the 4.75 mm mesh and the sieves of the box.
func (w *Words) inUS(text string) string {
	at := 0
	var out strings.Builder
	for _, m := range measured.FindAllStringSubmatchIndex(text, -1) {
		numbers, unit, tail := text[m[2]:m[3]], text[m[6]:m[7]], text[m[8]:m[9]]
		rest := text[m[1]:]
		out.WriteString(text[at:m[0]])
		at = m[1]
		if isName(numbers, unit, rest) || (unit == "g" && strings.HasPrefix(rest, "/")) || strings.HasPrefix(rest, "²") || strings.HasPrefix(rest, "³") {
			out.WriteString(text[m[0]:m[1]])
			continue
		}
		name, factor := usUnit(unit)
		out.WriteString(oneOf.ReplaceAllStringFunc(numbers, func(n string) string { return w.scaled(n, factor) }))
		out.WriteString(text[m[4]:m[5]] + name + tail)
	}
	return out.String() + text[at:]
}

// usUnit is the unit in place of a metric one, and how many of it that is.
func usUnit(metric string) (name string, factor float64) {
	switch metric {
	case "mm":
		return "in", 1 / mmPerInch
	case "mm²":
		return "in²", 1 / squareMMPerInch
	case "cm":
		return "in", 10 / mmPerInch
	case "g":
		return "lb", 1 / gramsPerPound
	case "kg":
		return "lb", 1000 / gramsPerPound
	case "t/h":
		return "short tons/h", 1 / tonnesPerShort
	}
	return "qt", 1 / litresPerQuart
}

// isName tells the mesh of 4.75 mm and the sieves of the box, which bear their opening as their name, from lengths.
func isName(numbers, unit, rest string) bool {
	if unit != "mm" {
		return false
	}
	if n := strings.ReplaceAll(numbers, ",", "."); n == "4.75" || n == "1.18" {
		return true
	}
	for _, word := range []string{" box", " sieve", " mesh", " line", "-Sieb", " Sieb", " Masche"} {
		if strings.HasPrefix(rest, word) {
			return true
		}
	}
	return numbers == "19, 8, 4" || numbers == "19, 8 and 4" || numbers == "19, 8 und 4" || strings.HasSuffix(numbers, "1.18") || strings.HasSuffix(numbers, "1,18") ||
		numbers == "19 and 8" || numbers == "19 und 8"
}

// scaled is a printed number times a factor, with as many figures as it had, two at least.
func (w *Words) scaled(number string, factor float64) string {
	v, err := strconv.ParseFloat(strings.ReplaceAll(number, ",", "."), 64)
	if err != nil {
		return number
	}
	figures := len(strings.TrimLeft(strings.NewReplacer(".", "", ",", "").Replace(number), "0"))
	v *= factor
	decimals := 0
	for scale := 1.0; decimals < 6 && v*scale < pow10(min(3, max(2, figures))-1) && v > 0; decimals++ {
		scale *= 10
	}
	return w.Number(v, decimals)
}

func pow10(n int) float64 {
	p := 1.0
	for range n {
		p *= 10
	}
	return p
}
