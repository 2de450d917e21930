package stats

// MaxFrameWeight bounds FrameWeight: a piece nearly as long as the frame would otherwise speak for hundreds.
const MaxFrameWeight = 20

// FrameWeight is how many pieces of the field one kept piece stands for where the frame truncates the field and
// pieces that touch it are dropped: Zx Zy / ((Zx - Fx)(Zy - Fy)), Z the frame and F the piece's Feret
// diameters along the frame's axes, all in one unit. Miles 1974; Lantuejoul 1980 (formula from memory).
// It lies in 1..MaxFrameWeight.
func FrameWeight(frameW, frameH, feretX, feretY float64) float64 {
	room := (frameW - max(feretX, 0)) * (frameH - max(feretY, 0))
	if frameW <= feretX || frameH <= feretY || !(room > 0) {
		return MaxFrameWeight
	}
	return min(frameW*frameH/room, MaxFrameWeight)
}
