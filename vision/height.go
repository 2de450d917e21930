package vision

import (
	"math"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// mostHeight is the height that a piece may have over its own width: it lies on its flattest side.
const mostHeight = 1.1

// fromAbove is the outline seen from straight above: what lies above the tray is nearer to the
// camera, looks larger and is pushed away from the point below the camera.
func (d *draft) fromAbove(foot result.XY, cameraMM float64) []result.XY {
	t := math.Min(d.heightMM, mostHeight*shape.MinFeret(d.seenMM).Length)
	if d.PKernel() >= d.PStover {
		return shape.Rounded.FromAbove(d.seenMM, foot, cameraMM, t)
	}
	if h, ok := roundHeight(d.seenMM, foot); ok {
		return shape.Flat.FromAbove(d.seenMM, foot, cameraMM, h)
	}
	if t < uprightFrom {
		return shape.Rounded.FromAbove(d.seenMM, foot, cameraMM, t)
	}
	return shape.Flat.FromAbove(d.seenMM, foot, cameraMM, t)
}

// uprightFrom is the height, mm, from which stover is taken to have upright sides: cut stalk and cob;
// straws of rind are rounded, and on flat scraps it makes no difference.
const uprightFrom = 1.4
