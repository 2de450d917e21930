package vision

import "gristmark/internal/result"

// blob is a connected set of work pixels.
type blob struct {
	label          int32
	x0, y0, x1, y1 int         // bounding box, half open, work px
	n              int         // pixels
	outline        []result.XY // outer boundary, clockwise, work px
}

// blobsOf lists the components of labels with at least minPx pixels, outlines traced.
func blobsOf(labels []int32, n, w, h, minPx int) []blob {
	all := make([]blob, n)
	start := make([]int, n)
	for i, l := range labels {
		if l < 0 {
			continue
		}
		b := &all[l]
		x, y := i%w, i/w
		if b.n == 0 {
			*b = blob{label: l, x0: x, y0: y, x1: x + 1, y1: y + 1}
			start[l] = i
		}
		b.n++
		b.x0, b.x1, b.y1 = min(b.x0, x), max(b.x1, x+1), y+1
	}
	var out []blob
	for l := range all {
		if all[l].n >= minPx {
			all[l].outline = traceCracks(labels, w, h, start[l])
			out = append(out, all[l])
		}
	}
	return out
}

// traceCracks walks the outer boundary of the component whose first pixel in reading order is
// start, with the component on the right hand (clockwise, as y points down), and returns the
// midpoints of the pixel edges that it passes. Pixels that meet at a corner are connected.
func traceCracks(labels []int32, w, h, start int) []result.XY {
	own := labels[start]
	in := func(x, y int) bool { return x >= 0 && y >= 0 && x < w && y < h && labels[y*w+x] == own }
	dx := [4]int{1, 0, -1, 0} // right, down, left, up
	dy := [4]int{0, 1, 0, -1}
	// Pixels ahead on the left and on the right of vertex (x, y) for each heading.
	lx, ly := [4]int{0, 0, -1, -1}, [4]int{-1, 0, 0, -1}
	rx, ry := [4]int{0, -1, -1, 0}, [4]int{0, 0, -1, -1}
	x, y, d := start%w, start/w, 0
	sx, sy := x, y
	var out []result.XY
	for {
		out = append(out, result.XY{float64(x) + float64(dx[d])/2, float64(y) + float64(dy[d])/2})
		x, y = x+dx[d], y+dy[d]
		switch {
		case in(x+lx[d], y+ly[d]):
			d = (d + 3) % 4
		case in(x+rx[d], y+ry[d]):
		default:
			d = (d + 1) % 4
		}
		if x == sx && y == sy && d == 0 {
			return out
		}
	}
}
