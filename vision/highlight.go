package vision

import "math"

// Where the tray shines it is brighter and paler than any shade of its own colour. Such a place is told from a piece by its size and by its
// border: it is wider than nearly all pieces and goes over into the tray without a step. Limits from the tuning scenes.
const (
	highlightMM   = 8.0 // half the width, from which on it is looked for
	highlightStep = 6.0 // of colour (CIE 1976) from a cell to the next: less than at the edge of a piece that can be told from the tray
	highlightTurn = 0.5 // how much of the way to the next cell's colour the expected one is moved
)

// addHighlights adds to the bare cells those of wide highlights: from the bare cells around them inwards, as far as each cell has about the colour
// that its neighbours lead to. Pieces that lie in them stay out.
func (f *field) addHighlights(mmPerCell float64) {
	w, h := f.cells.w, f.cells.h
	wide := f.wideParts(highlightMM / mmPerCell)
	if wide == nil {
		return
	}
	limit := max(highlightStep, 3*f.noise)
	expected := make([][3]float32, w*h)
	var front []int
	for i, in := range f.bare {
		if in {
			expected[i] = f.cells.at(i)
			front = append(front, i)
		}
	}
	for len(front) > 0 {
		var next []int
		for _, i := range front {
			for _, j := range [4]int{i - 1, i + 1, i - w, i + w} {
				if j < 0 || j >= w*h || i%w-j%w > 1 || j%w-i%w > 1 || !wide[j] || f.bare[j] {
					continue
				}
				e, c := expected[i], f.cells.at(j)
				d0, d1, d2 := c[0]-e[0], c[1]-e[1], c[2]-e[2]
				if d0*d0+d1*d1+d2*d2 > limit*limit {
					continue
				}
				f.bare[j] = true
				expected[j] = [3]float32{e[0] + highlightTurn*d0, e[1] + highlightTurn*d1, e[2] + highlightTurn*d2}
				next = append(next, j)
			}
		}
		front = next
	}
}

// wideParts marks the connected parts of the field that are lighter than the bare tray and hold a disc of radius r, in cells; nil where there is
// none.
func (f *field) wideParts(r float64) []bool {
	w, h := f.cells.w, f.cells.h
	other := make([]bool, w*h)
	tray := make([][3]float32, w)
	for i, in := range f.mask {
		if i%w == 0 {
			f.row(i/w, tray)
		}
		other[i] = in && !f.bare[i] && f.cells.at(i)[0] > tray[i%w][0]
	}
	depth := distanceTo(other, w, h, false)
	labels, n := components(other, w, h)
	top := make([]float64, n)
	found := false
	for i, l := range labels {
		if l >= 0 {
			top[l] = math.Max(top[l], float64(depth[i]))
			found = found || top[l] > r
		}
	}
	if !found {
		return nil
	}
	for i, l := range labels {
		other[i] = l >= 0 && top[l] > r
	}
	return other
}
