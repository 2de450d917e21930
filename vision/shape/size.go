package shape

import "math"

// Size is what one look at an outline gives, in the outline's unit.
type Size struct {
	Area       float64 // >= 0
	Perimeter  float64 // of the outline as it is: Smooth a staircase first
	MaxFeret   Feret
	MinFeret   Feret
	Solidity   float64 // 0..1
	CentreLine float64 // length from end to end
	Line       []XY    // the centreline
}

// Measure takes all sizes of the outline at once.
func Measure(outline []XY) Size {
	h := ConvexHull(outline)
	s := Size{Area: math.Abs(Area(outline)), Perimeter: Perimeter(outline), MaxFeret: h.MaxFeret(), MinFeret: h.MinFeret()}
	s.Solidity = solidity(s.Area, h)
	s.CentreLine, s.Line = centreLine(outline, h, s.Area, s.Perimeter)
	return s
}

// Kernel is the length and width of a kernel or a piece of one: its largest and smallest Feret diameter.
func (s Size) Kernel() (length, width float64) { return s.MaxFeret.Length, s.MinFeret.Length }

// RoundBelow is the aspect under which a piece of stover has no length along a line.
const RoundBelow = 1.5

// Stover is the length and width of a piece of stalk, leaf, husk or cob: along its centreline from end to
// end, or its largest Feret diameter where it is not RoundBelow times as long as wide, by its Feret diameters or
// by the centreline and the width that it would give; and the area over that length. By the latter alone a
// triangle, whose area is half of its rectangle's, would count as twice as slender as it is.
func (s Size) Stover() (length, width float64) {
	length = s.CentreLine
	if !(length*length >= RoundBelow*s.Area && s.MaxFeret.Length >= RoundBelow*s.MinFeret.Length) {
		length = s.MaxFeret.Length
	}
	if !(length > 0) {
		return 0, 0
	}
	return length, s.Area / length
}

// LengthWidth is Measure(outline).Kernel() or .Stover(), without the work that these do not need.
func LengthWidth(outline []XY, kernel bool) (length, width float64) {
	if !kernel {
		return Measure(outline).Stover()
	}
	h := ConvexHull(outline)
	return h.MaxFeret().Length, h.MinFeret().Length
}
