package vision

import (
	"math"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// Heights of pieces above the tray, by kind (common practice; the renderer that the tool is checked
// against draws its own).
const (
	flatShare = 0.8 // a fragment lies on its flattest side: at most this share of its width high
	stalkMM   = 0.35
	stalkRise = 0.12 // of the width: rind and stalk pieces are thicker the wider they are
	mostStalk = 2.0
)

// fromAbove is the outline seen from straight above: what lies above the tray is nearer to the
// camera, looks larger and is pushed away from the point below the camera.
func (d *draft) fromAbove(foot result.XY, cameraMM float64, k Kernel) []result.XY {
	slim := shape.MinFeret(d.seenMM).Length
	if d.PKernel() >= d.PStover {
		return shape.Rounded.FromAbove(d.seenMM, foot, cameraMM, math.Min(k.ThicknessMM, flatShare*slim))
	}
	return shape.Flat.FromAbove(d.seenMM, foot, cameraMM, math.Min(mostStalk, stalkMM+stalkRise*slim))
}
