package vision

import (
	"math"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// Rounds of stalk and cob are cut across the plant: discs that stand higher than any other stover. Their outline is an ellipse, also where their
// wall is seen beside their face; no scrap's is. Limits and heights from 141 rounds of the tuning scenes of flash, drops, defocus and motion; the
// heights are 0.65 of the fitted ones, because rims are not sharp: so areas err least.
const (
	roundFill   = 0.995 // area over that of the ellipse of the same second moments; 0.955 for rectangles
	roundAspect = 1.8
	roundWidth  = 4.5 // mm across, at least

	roundBase  = 1.4  // height, mm, of a round of no width
	roundWiden = 0.12 // more, per mm of its width
	roundLean  = 0.48 // more, per mm by which it looks longer along the line of sight than across: its wall
	mostRound  = 14.0 // mm
)

// roundHeight is the height of a round of stalk or cob, mm, from its outline as seen on the tray plane and the point below the camera; false where the
// outline is none of a round.
func roundHeight(o []result.XY, foot result.XY) (mm float64, ok bool) {
	e := shape.EllipseOf(o)
	if !(e.Minor >= roundWidth && e.Major < roundAspect*e.Minor) {
		return 0, false
	}
	if math.Abs(shape.Area(o)) < roundFill*math.Pi/4*e.Major*e.Minor {
		return 0, false
	}
	at := shape.Centroid(o)
	sin, cos := math.Sincos(math.Atan2(at[1]-foot[1], at[0]-foot[0]) - e.Angle)
	along, across := math.Hypot(e.Major*cos, e.Minor*sin), math.Hypot(e.Major*sin, e.Minor*cos)
	mm = roundBase + roundWiden*min(along, across) + roundLean*(along-across)
	return min(max(mm, uprightFrom), mostRound), true
}
