package stats

import "math"

// UnitsForHalfWidth is how many units (photos, boxes) of the given standard deviation it takes until Student's
// interval of their mean is within plus or minus half; at least 2. Zero half or a spread without bound gives 0: it cannot be reached.
func UnitsForHalfWidth(sd, half, level float64) int {
	if !(half > 0) || math.IsInf(sd, 0) || math.IsNaN(sd) {
		return 0
	}
	reached := func(n int) bool {
		return StudentQuantile(level, float64(n-1))*sd/math.Sqrt(float64(n)) <= half
	}
	high := 2
	for !reached(high) && high < 1<<30 {
		high *= 2
	}
	low := max(high/2, 2)
	for low < high {
		if mid := (low + high) / 2; reached(mid) {
			high = mid
		} else {
			low = mid + 1
		}
	}
	return high
}
