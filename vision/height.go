package vision

import (
	"math"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// Heights of the widest level of pieces above the tray, by kind (common practice; the renderer that
// the tool is checked against draws its own).
const (
	kernelWaist = 0.5  // of its thickness: rounded sides are widest half way up
	stalkShare  = 0.25 // of the width: a half-round stalk lies on its flat
	leafMM      = 0.4
)

// fromAbove is the outline seen from straight above: what lies above the tray is nearer to the
// camera, looks larger and is pushed away from the point below the camera.
func (d *draft) fromAbove(foot result.XY, cameraMM float64, k Kernel) []result.XY {
	h := d.waistMM(k)
	f := (cameraMM - h) / cameraMM
	out := make([]result.XY, len(d.seenMM))
	for i, p := range d.seenMM {
		out[i] = result.XY{foot[0] + (p[0]-foot[0])*f, foot[1] + (p[1]-foot[1])*f}
	}
	return out
}

// waistMM is the expected height of the level at which the piece is widest.
func (d *draft) waistMM(k Kernel) float64 {
	slim := shape.MinFeret(d.seenMM).Length
	kernel := kernelWaist * math.Min(k.ThicknessMM, 0.8*slim)
	stover := math.Max(leafMM, math.Min(stalkShare*slim, 2)) / 2
	return d.PKernel()*kernel + d.PStover*stover
}
