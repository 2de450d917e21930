package pipeline

import (
	"math"

	"gristmark/calib"
	"gristmark/calib/card"
	"gristmark/internal/result"
)

// matLines are the lines that are printed in the field of a mat, in px, in short pieces; nil where no mat was
// found or the plane is not in the mat's own frame.
func matLines(plane planeMap, marks []calib.Mark) [][2]result.XY {
	sheet, ok := matOf(plane, marks)
	if !ok {
		return nil
	}
	f := sheet.FieldMM
	return squared(plane, result.XY{f[0], f[1]}, result.XY{f[2], f[3]}, sheet.PitchMM, 1)
}

// gridLines are the lines of a drawn grid as far as its marks reach, in px, in short pieces. The plane's frame has a
// line at each multiple of the pitch, mm.
func gridLines(plane planeMap, marks []calib.Mark, pitchMM float64) [][2]result.XY {
	low, high := result.XY{math.Inf(1), math.Inf(1)}, result.XY{math.Inf(-1), math.Inf(-1)}
	for _, m := range marks {
		if !m.Used {
			continue
		}
		for _, px := range m.Outline {
			mm := plane.ToMM(px)
			for k := range 2 {
				low[k], high[k] = math.Min(low[k], mm[k]), math.Max(high[k], mm[k])
			}
		}
	}
	if !finite(low[0], low[1], high[0], high[1]) || !(pitchMM > 0) {
		return nil
	}
	for k := range 2 { // marks lie midway between crossings
		low[k], high[k] = pitchMM*math.Floor(low[k]/pitchMM), pitchMM*math.Ceil(high[k]/pitchMM)
	}
	return squared(plane, low, high, pitchMM, 0)
}

// squared gives the lines of the pitch over the box, without so many at its rim.
func squared(plane planeMap, low, high result.XY, pitchMM float64, rim int) [][2]result.XY {
	var lines [][2]result.XY
	for axis := range 2 {
		n := int(math.Round((high[axis] - low[axis]) / pitchMM))
		for k := rim; k <= n-rim; k++ {
			from, to := low, high
			from[axis] = low[axis] + float64(k)*pitchMM
			to[axis] = from[axis]
			line := linePx(plane, from, to)
			for i := 1; i < len(line); i++ {
				lines = append(lines, [2]result.XY{line[i-1], line[i]})
			}
		}
	}
	return lines
}

// matOf is the mat whose markers lie where the plane says that its own frame has them.
func matOf(plane planeMap, marks []calib.Mark) (card.Sheet, bool) {
	const off = 2.0 // mm; paper is not that crooked
	for _, m := range marks {
		sheet, marker, ok := card.ByID(m.ID)
		if !ok || !sheet.HasField() || !m.Used || len(m.Outline) == 0 {
			continue
		}
		at, want := plane.ToMM(m.Outline[0]), marker.Corners()[0]
		if math.Hypot(at[0]-want[0], at[1]-want[1]) < off {
			return sheet, true
		}
	}
	return card.Sheet{}, false
}

// nominal is a plane in the mm that a sheet was drawn in, however large it came out of the printer.
type nominal struct {
	planeMap
	print float64 // printed length over drawn length
}

func asDrawn(plane *calib.Plane) nominal {
	_, print, _ := plane.Sheet()
	return nominal{plane, print}
}

// ToMM maps a px of the photo to mm as drawn.
func (n nominal) ToMM(px result.XY) result.XY {
	mm := n.planeMap.ToMM(px)
	return result.XY{mm[0] / n.print, mm[1] / n.print}
}

// ToPx maps mm as drawn to a px of the photo.
func (n nominal) ToPx(mm result.XY) result.XY {
	return n.planeMap.ToPx(result.XY{mm[0] * n.print, mm[1] * n.print})
}
