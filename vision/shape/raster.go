package shape

import "math"

// Rasterise draws outlines into a w by h mask, row by row: 255 where a pixel lies wholly inside, and in
// between the share of its square that is covered, exact but for rounding to a 255th. An outline that
// runs against the first one is a hole in it. What lies outside the mask is cut off. Nil where w or h is
// not positive.
func Rasterise(outlines [][]XY, w, h int) []uint8 {
	if w <= 0 || h <= 0 {
		return nil
	}
	acc := coverage{w: w, sum: make([]float64, (w+1)*h+1)}
	for _, o := range outlines {
		o = clip(o, float64(w), float64(h))
		for i := range o {
			acc.edge(o[i], o[(i+1)%len(o)])
		}
	}
	return acc.mask(h)
}

// coverage holds, for each pixel, the signed area that the edges so far add to it and, by summing
// along the row, to all pixels on its right.
type coverage struct {
	w   int
	sum []float64
}

// edge adds one edge within the mask, row by row.
func (c *coverage) edge(a, b XY) {
	if a[1] == b[1] {
		return
	}
	sign := 1.0
	if a[1] > b[1] {
		a, b, sign = b, a, -1
	}
	slope := (b[0] - a[0]) / (b[1] - a[1])
	for y := math.Floor(a[1]); y < b[1]; y++ {
		top, bottom := max(a[1], y), min(b[1], y+1)
		if bottom > top {
			c.span(int(y), a[0]+(top-a[1])*slope, a[0]+(bottom-a[1])*slope, sign*(bottom-top))
		}
	}
}

// span adds an edge that stays in row y, from x0 to x1, over the height dy.
func (c *coverage) span(y int, x0, x1, dy float64) {
	if x0 > x1 {
		x0, x1 = x1, x0
	}
	row := c.sum[y*(c.w+1) : (y+1)*(c.w+1)+1]
	first, last := max(int(x0), 0), min(int(math.Ceil(x1)), c.w)
	if last <= first+1 {
		right := min(float64(first+1)-(x0+x1)/2, 1)
		first = min(first, c.w)
		row[first] += dy * right
		row[first+1] += dy * (1 - right)
		return
	}
	run := dy / (x1 - x0)
	passed := 0.0 // height of the edge to the left of pixel x
	spill := 0.0  // what the pixels so far hand on to the right
	for x := first; x < last; x++ {
		in, out := max(x0, float64(x)), min(x1, float64(x+1))
		d := (out - in) * run
		area := passed + d*(float64(x+1)-(in+out)/2)
		row[x] += area - spill
		spill = area
		passed += d
	}
	row[last] += dy - spill
}

func (c *coverage) mask(h int) []uint8 {
	out := make([]uint8, c.w*h)
	for y := range h {
		s := 0.0
		for x := range c.w {
			s += c.sum[y*(c.w+1)+x]
			out[y*c.w+x] = uint8(math.Round(255 * min(math.Abs(s), 1)))
		}
	}
	return out
}
