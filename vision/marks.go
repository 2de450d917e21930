package vision

import "math"

// either marks what one of two marks.
func either(a, b []bool) []bool {
	out := make([]bool, len(a))
	for i := range out {
		out[i] = a[i] || b[i]
	}
	return out
}

// count is how many are marked.
func count(marked []bool) (n int) {
	for _, m := range marked {
		if m {
			n++
		}
	}
	return n
}

// shareIn is the share of the marked that are in another mark too; none of nothing.
func shareIn(marked, in []bool) float64 {
	n, both := 0, 0
	for i, m := range marked {
		if m {
			if n++; in[i] {
				both++
			}
		}
	}
	return float64(both) / math.Max(1, float64(n))
}
