package report

import "gristmark/internal/result"

// Interval prints "63 (57 to 69)", the ends with the value's decimals.
func Interval(e result.Estimate) string { return interval(e) }

// VerdictWords are a verdict as people read it; "not judged" where there is none.
func VerdictWords(v *string) string { return verdictWords(v) }

// Number prints v with about three figures.
func Number(v float64) string { return number(v) }

// Count prints "1 photo", "2 photos".
func Count(n int, noun string) string { return count(n, noun) }
