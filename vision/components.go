package vision

import (
	"bytes"
	"cmp"
	"slices"
	"unsafe"
)

// run is a stretch of cells of a row, x0 to x1, half open.
type run struct{ x0, x1 int32 }

// components labels the 8-connected components of mask from 0, in the order in which squares of 2 × 2 cells meet them, as OpenCV does; -1 outside.
func components(mask []bool, w, h int) (labels []int32, n int) {
	runs, first := runsOf(mask, w, h)
	sets := make(cellSets, len(runs))
	for k := range sets {
		sets[k] = int32(k)
	}
	for y := 1; y < h; y++ {
		for a, b := first[y-1], first[y]; a < first[y] && b < first[y+1]; {
			up, low := runs[a], runs[b]
			if up.x0 <= low.x1 && low.x0 <= up.x1 {
				sets.join(a, b)
			}
			if up.x1 < low.x1 {
				a++
			} else {
				b++
			}
		}
	}
	names, n := sets.named(runs, first)
	labels = make([]int32, len(mask))
	for i := range labels {
		labels[i] = -1
	}
	for y := range h {
		for k := first[y]; k < first[y+1]; k++ {
			own := labels[y*w+int(runs[k].x0) : y*w+int(runs[k].x1)]
			for x := range own {
				own[x] = names[k]
			}
		}
	}
	return labels, n
}

// runsOf lists the runs of marked cells, row by row; first is the first run of each row, and their number at last.
func runsOf(mask []bool, w, h int) (runs []run, first []int) {
	first = make([]int, h+1)
	if len(mask) == 0 {
		return nil, first
	}
	cells := unsafe.Slice((*byte)(unsafe.Pointer(&mask[0])), len(mask)) // 0 or 1
	for y := range h {
		row := cells[y*w : (y+1)*w]
		for x := bytes.IndexByte(row, 1); x >= 0; {
			end := w
			if off := bytes.IndexByte(row[x:], 0); off >= 0 {
				end = x + off
			}
			runs = append(runs, run{int32(x), int32(end)})
			if x = bytes.IndexByte(row[end:], 1); x >= 0 {
				x += end
			}
		}
		first[y+1] = len(runs)
	}
	return runs, first
}

// named numbers n sets of runs by the square of 2 × 2 cells that meets each first; it gives the number of each run's set.
func (s cellSets) named(runs []run, first []int) (names []int32, n int) {
	type place struct{ of, y, x int32 } // set, and the square
	var found []place
	names = make([]int32, len(s)) // first where the set is found
	for y := range int32(len(first) - 1) {
		for k := first[y]; k < first[y+1]; k++ {
			of, x := s.first(k), runs[k].x0/2
			if int(of) == k {
				names[k] = int32(len(found))
				found = append(found, place{of, y / 2, x})
			} else if p := &found[names[of]]; p.y == y/2 {
				p.x = min(p.x, x)
			}
		}
	}
	slices.SortFunc(found, func(a, b place) int { return cmp.Or(cmp.Compare(a.y, b.y), cmp.Compare(a.x, b.x)) })
	for i, p := range found {
		names[p.of] = int32(i)
	}
	for k := range names {
		names[k] = names[s.first(k)]
	}
	return names, len(found)
}
