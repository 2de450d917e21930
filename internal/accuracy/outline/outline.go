// Package outline compares closed outlines by the area that they cover: areas, overlaps and
// whether a point lies inside, on a raster of quarter pixel rows with exact crossings along each row.
package outline

import (
	"math"
	"slices"

	"gristmark/internal/result"
)

// rowsPerPx is the number of raster rows in a pixel: thin straws lie only a few pixels wide.
const rowsPerPx = 4

// Shape is a filled outline, prepared for comparisons. Its outline closes itself; where it crosses
// itself the even-odd rule holds.
type Shape struct {
	first int         // index of the first raster row, in quarters of a pixel
	rows  [][]float64 // sorted crossings of each row, px; filled between 2k and 2k+1
	area  float64     // px²

	MinX, MinY, MaxX, MaxY float64 // box around it, px
}

// New prepares an outline in px. Fewer than three points give a shape of area 0.
func New(points []result.XY) Shape {
	s := Shape{MinX: math.Inf(1), MinY: math.Inf(1), MaxX: math.Inf(-1), MaxY: math.Inf(-1)}
	if len(points) < 3 {
		return s
	}
	for _, p := range points {
		s.MinX, s.MaxX = min(s.MinX, p[0]), max(s.MaxX, p[0])
		s.MinY, s.MaxY = min(s.MinY, p[1]), max(s.MaxY, p[1])
	}
	s.first = int(math.Floor(s.MinY * rowsPerPx))
	s.rows = make([][]float64, int(math.Ceil(s.MaxY*rowsPerPx))-s.first)
	for i, p := range points {
		s.cross(p, points[(i+1)%len(points)])
	}
	for _, row := range s.rows {
		slices.Sort(row)
	}
	s.area = s.sum()
	return s
}

// cross adds the crossings of one edge with the middles of the raster rows.
func (s *Shape) cross(a, b result.XY) {
	if a[1] > b[1] {
		a, b = b, a
	}
	if a[1] == b[1] {
		return
	}
	slope := (b[0] - a[0]) / (b[1] - a[1])
	from := int(math.Ceil(a[1]*rowsPerPx - 0.5))
	to := int(math.Ceil(b[1]*rowsPerPx - 0.5))
	for r := max(from, s.first); r < to && r-s.first < len(s.rows); r++ {
		y := (float64(r) + 0.5) / rowsPerPx
		s.rows[r-s.first] = append(s.rows[r-s.first], a[0]+(y-a[1])*slope)
	}
}

func (s Shape) sum() float64 {
	var a float64
	for _, row := range s.rows {
		for k := 0; k+1 < len(row); k += 2 {
			a += row[k+1] - row[k]
		}
	}
	return a / rowsPerPx
}

// Area is the covered area, px², 0 or more.
func (s Shape) Area() float64 { return s.area }

// Clip returns the part of the shape inside the box from (0, 0) to (width, height), px.
func (s Shape) Clip(width, height float64) Shape {
	if s.area == 0 || (s.MinX >= 0 && s.MinY >= 0 && s.MaxX <= width && s.MaxY <= height) {
		return s
	}
	frame := New([]result.XY{{0, 0}, {width, 0}, {width, height}, {0, height}})
	c := Shape{first: s.first, rows: make([][]float64, len(s.rows))}
	c.MinX, c.MaxX = max(s.MinX, 0), min(s.MaxX, width)
	c.MinY, c.MaxY = max(s.MinY, 0), min(s.MaxY, height)
	for i, row := range s.rows {
		c.rows[i] = both(row, frame.row(s.first+i))
	}
	c.area = c.sum()
	return c
}

func (s Shape) row(r int) []float64 {
	if r < s.first || r-s.first >= len(s.rows) {
		return nil
	}
	return s.rows[r-s.first]
}

// both returns the crossings of the intersection of two rows.
func both(a, b []float64) []float64 {
	var out []float64
	for i, j := 0, 0; i+1 < len(a) && j+1 < len(b); {
		if lo, hi := max(a[i], b[j]), min(a[i+1], b[j+1]); lo < hi {
			out = append(out, lo, hi)
		}
		if a[i+1] < b[j+1] {
			i += 2
		} else {
			j += 2
		}
	}
	return out
}

// Common is the area that both shapes cover, px².
func Common(a, b Shape) float64 {
	if a.area == 0 || b.area == 0 || a.MaxX <= b.MinX || b.MaxX <= a.MinX || a.MaxY <= b.MinY || b.MaxY <= a.MinY {
		return 0
	}
	var sum float64
	for r := max(a.first, b.first); r < min(a.first+len(a.rows), b.first+len(b.rows)); r++ {
		for c, k := both(a.row(r), b.row(r)), 0; k+1 < len(c); k += 2 {
			sum += c[k+1] - c[k]
		}
	}
	return sum / rowsPerPx
}

// IoU is the common area over the area covered by either, 0..1 (Jaccard's index).
func IoU(a, b Shape) float64 {
	common := Common(a, b)
	if common == 0 {
		return 0
	}
	return common / (a.area + b.area - common)
}

// Contains reports whether the shape covers a point, px.
func (s Shape) Contains(p result.XY) bool {
	row := s.row(int(math.Floor(p[1] * rowsPerPx)))
	for k := 0; k+1 < len(row); k += 2 {
		if row[k] <= p[0] && p[0] < row[k+1] {
			return true
		}
	}
	return false
}
