package shape

import (
	"math"
	"slices"
)

// Contour is one outline of a mask.
type Contour struct {
	Points []XY // px, pixel centres at +0.5; positive area round a piece, negative round a hole
	Hole   bool // round a hole
}

// FromMask finds the outlines along which a soft mask of w by h bytes, row by row, crosses the level
// (0..1 of 255; 0.5 for coverage), largest area first. It marches through the squares between pixel
// centres and interpolates along their sides, so that a straight edge of a mask by coverage is found to
// a few hundredths of a pixel; beyond the border the mask counts as 0. Where two corners of a square
// face each other above the level, the mean of the four decides whether they are joined. A mask of only
// 0 and 255 gives steps: Smooth them. Nil where the mask is shorter than w·h.
func FromMask(mask []uint8, w, h int, level float64) []Contour {
	if w <= 0 || h <= 0 || len(mask) < w*h {
		return nil
	}
	m := march{mask: mask, w: w, h: h, level: 255 * min(max(level, 1e-6), 1)}
	m.seen = make([]uint8, (w+1)*(h+1))
	var out []Contour
	for y := range h + 1 {
		for x := range w + 1 {
			out = m.from(x, y, out)
		}
	}
	slices.SortStableFunc(out, func(a, b Contour) int {
		return compareDown(math.Abs(Area(a.Points)), math.Abs(Area(b.Points)))
	})
	return out
}

// march walks from square to square; square (x, y) has the pixels x-1, x and y-1, y at its corners.
type march struct {
	mask  []uint8
	w, h  int
	level float64
	seen  []uint8 // a bit for each side by which a square was left
}

// sides of a square, and the step over each
const (
	top = iota
	right
	bottom
	left
)

var stepOver = [4][2]int{top: {0, -1}, right: {1, 0}, bottom: {0, 1}, left: {-1, 0}}

// at is the mask's value, 0 beyond the border.
func (m *march) at(x, y int) float64 {
	if uint(x) >= uint(m.w) || uint(y) >= uint(m.h) {
		return 0
	}
	return float64(m.mask[y*m.w+x])
}

// from starts a contour in the square unless it has none or all were walked.
func (m *march) from(x, y int, out []Contour) []Contour {
	for {
		leave := m.exits(x, y) &^ m.seen[y*(m.w+1)+x]
		if leave == 0 {
			return out
		}
		side := 0
		for leave>>side&1 == 0 {
			side++
		}
		p := m.walk(x, y, side)
		if len(p) >= 3 {
			a := Area(p)
			out = append(out, Contour{Points: p, Hole: a < 0})
		}
	}
}

// corners are the values of a square: top left, top right, bottom right, bottom left.
func (m *march) corners(x, y int) [4]float64 {
	return [4]float64{m.at(x-1, y-1), m.at(x, y-1), m.at(x, y), m.at(x-1, y)}
}

// exits are the sides by which contours leave the square, the piece on their right hand on the screen:
// those whose first corner, clockwise, is outside and the second inside.
func (m *march) exits(x, y int) (bits uint8) {
	v := m.corners(x, y)
	for s := range 4 {
		if v[s] < m.level && v[(s+1)%4] >= m.level {
			bits |= 1 << s
		}
	}
	return bits
}

// walk follows the contour that leaves square (x, y) by the side, until it is back.
func (m *march) walk(x, y, side int) (p []XY) {
	for {
		bit := uint8(1) << side
		if m.seen[y*(m.w+1)+x]&bit != 0 {
			return p
		}
		m.seen[y*(m.w+1)+x] |= bit
		p = append(p, m.crossing(x, y, side))
		x, y = x+stepOver[side][0], y+stepOver[side][1]
		side = m.exitFor(x, y, (side+2)%4)
	}
}

// exitFor is the side by which the contour that entered by the given side leaves.
func (m *march) exitFor(x, y, entered int) int {
	v := m.corners(x, y)
	ex := m.exits(x, y)
	joined := v[0]+v[1]+v[2]+v[3] >= 4*m.level
	// joined: cut off the outside corner that lies ahead; apart: go round the inside corner
	step := 3
	if joined {
		step = 1
	}
	for k, s := 0, (entered+step)%4; k < 4; k, s = k+1, (s+step)%4 {
		if ex>>s&1 == 1 {
			return s
		}
	}
	return entered
}

// crossing is where the level cuts the side of the square.
func (m *march) crossing(x, y, side int) XY {
	v := m.corners(x, y)
	a, b := v[side], v[(side+1)%4]
	t := (a - m.level) / (a - b)
	fx, fy := float64(x), float64(y) // bottom right pixel's corner; its centre lies at +0.5
	at := [4]XY{{fx - 0.5, fy - 0.5}, {fx + 0.5, fy - 0.5}, {fx + 0.5, fy + 0.5}, {fx - 0.5, fy + 0.5}}
	return lerp(at[side], at[(side+1)%4], t)
}
