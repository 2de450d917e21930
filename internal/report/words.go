package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"gristmark/internal/result"
)

// verdictWords are the verdicts as people read them.
func verdictWords(v *string) string {
	if v == nil {
		return "not judged"
	}
	return strings.ReplaceAll(*v, "_", " ")
}

// number prints v with about three figures, as many decimals as its size carries.
func number(v float64) string {
	decimals := 0
	switch a := math.Abs(v); {
	case a < 1:
		decimals = 2
	case a < 20:
		decimals = 1
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}

// interval prints "63 (57 to 69)"; the low and high ends get the value's decimals.
func interval(e result.Estimate) string {
	decimals := 1
	if math.Max(math.Abs(e.Value), math.Abs(e.High)) >= 20 {
		decimals = 0
	}
	f := func(v float64) string { return strconv.FormatFloat(v, 'f', decimals, 64) }
	return fmt.Sprintf("%s (%s to %s)", f(e.Value), f(e.Low), f(e.High))
}

// count prints "1 photo", "2 photos".
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// capital makes the first letter large.
func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
