package vision

import (
	"math"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// mostHeight is the height that a piece may have over its own width: it lies on its flattest side.
const mostHeight = 1.1

// fromAbove is the outline seen from straight above: what lies above the tray is nearer to the camera, looks larger and is pushed away from the point
// below the camera. tallMM is the piece's expected height.
func (d *draft) fromAbove(foot result.XY, cameraMM, tallMM float64) []result.XY {
	t := math.Min(tallMM, mostHeight*shape.MinFeret(d.seenMM).Length)
	return BodyOf(d.Particle).FromAbove(d.seenMM, foot, cameraMM, t)
}

// BodyOf is the body of what the piece most likely is.
func BodyOf(p result.Particle) shape.Body {
	switch {
	case p.PKernel() < p.PStover:
		return shape.StoverBody
	case p.PBroken > p.PWhole:
		return shape.BrokenBody
	}
	return shape.WholeBody
}
