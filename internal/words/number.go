package words

import (
	"math"
	"strconv"
	"strings"

	"gristmark/internal/result"
)

// Number prints v with so many decimals in the language's form: "3.4", "3,4".
func (w *Words) Number(v float64, decimals int) string {
	return w.localise(strconv.FormatFloat(noMinusZero(v, decimals), 'f', decimals, 64))
}

// Trimmed prints v with at most so many decimals, without zeros at its end.
func (w *Words) Trimmed(v float64, decimals int) string {
	p := math.Pow(10, float64(decimals))
	return w.localise(strconv.FormatFloat(noMinusZero(math.Round(v*p)/p, decimals), 'f', -1, 64))
}

// Signed prints v with its sign and so many decimals.
func (w *Words) Signed(v float64, decimals int) string {
	s := w.Number(v, decimals)
	if !strings.HasPrefix(s, "-") {
		s = "+" + s
	}
	return s
}

// Figures prints v with about three figures, as many decimals as its size carries.
func (w *Words) Figures(v float64) string { return w.Number(v, decimalsFor(v)) }

func decimalsFor(v float64) int {
	switch a := math.Abs(v); {
	case a < 1:
		return 2
	case a < 20:
		return 1
	}
	return 0
}

// Interval prints "63 (57 to 69)", the ends with the value's decimals.
func (w *Words) Interval(e result.Estimate) string {
	decimals := 1
	if math.Max(math.Abs(e.Value), math.Abs(e.High)) >= 20 {
		decimals = 0
	}
	return w.T("%s (%s to %s)", w.Number(e.Value, decimals), w.Number(e.Low, decimals), w.Number(e.High, decimals))
}

// noMinusZero keeps what rounds to nothing from printing as "-0".
func noMinusZero(v float64, decimals int) float64 {
	if math.Abs(v)*math.Pow(10, float64(decimals)) < 0.5 {
		return 0
	}
	return v
}

// localise puts the language's decimal sign into a printed number.
func (w *Words) localise(number string) string {
	return strings.Replace(number, ".", w.of().decimal, 1)
}

// Verdict is a verdict as people read it; "not judged" where there is none.
func (w *Words) Verdict(v *string) string {
	if v == nil {
		return w.T("not judged")
	}
	switch *v {
	case result.OnTarget:
		return w.T("on target")
	case result.ShortOfTarget:
		return w.T("short of target")
	case result.OverTarget:
		return w.T("over target")
	case result.Undecided:
		return w.T("undecided")
	}
	return strings.ReplaceAll(*v, "_", " ")
}
