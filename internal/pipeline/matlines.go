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
	var lines [][2]result.XY
	add := func(from, to result.XY) {
		line := linePx(plane, from, to)
		for i := 1; i < len(line); i++ {
			lines = append(lines, [2]result.XY{line[i-1], line[i]})
		}
	}
	for x := f[0] + sheet.PitchMM; x < f[2]-sheet.PitchMM/2; x += sheet.PitchMM {
		add(result.XY{x, f[1]}, result.XY{x, f[3]})
	}
	for y := f[1] + sheet.PitchMM; y < f[3]-sheet.PitchMM/2; y += sheet.PitchMM {
		add(result.XY{f[0], y}, result.XY{f[2], y})
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
