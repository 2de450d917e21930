package shape

import (
	"cmp"
	"math"
	"slices"
)

// fewPoints are put in order faster without dealing them out first.
const fewPoints = 16

// byPlace copies the points in the order of x, and of y where x is equal. They are dealt out over as many columns as there are
// points, as most outlines fill their width evenly, and then put in order within each.
func byPlace(points []XY) []XY {
	lo, hi := Bounds(points)
	perX := float64(len(points)-1) / (hi[0] - lo[0])
	if len(points) <= fewPoints || !(perX > 0) || math.IsInf(perX, 0) {
		return inOrder(slices.Clone(points))
	}
	end := make([]int32, len(points)) // of each column
	for i := range points {
		end[int((points[i][0]-lo[0])*perX)]++
	}
	var sum int32
	for i, n := range end {
		end[i] = sum
		sum += n
	}
	out := make([]XY, len(points))
	for i := range points {
		column := int((points[i][0] - lo[0]) * perX)
		out[end[column]] = points[i]
		end[column]++
	}
	sum = 0
	for _, e := range end {
		if e-sum > 1 {
			inOrder(out[sum:e])
		}
		sum = e
	}
	return out
}

// inOrder sorts in place.
func inOrder(p []XY) []XY {
	if len(p) > fewPoints {
		slices.SortFunc(p, func(a, b XY) int {
			if c := cmp.Compare(a[0], b[0]); c != 0 {
				return c
			}
			return cmp.Compare(a[1], b[1])
		})
		return p
	}
	for i := 1; i < len(p); i++ {
		for j := i; j > 0 && before(&p[j], &p[j-1]); j-- {
			p[j], p[j-1] = p[j-1], p[j]
		}
	}
	return p
}

func before(a, b *XY) bool { return a[0] < b[0] || a[0] == b[0] && a[1] < b[1] }
