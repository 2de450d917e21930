package shape

// FrameWeight is how many pieces a kept piece stands for when pieces that touch the frame are dropped:
// Zx·Zy / ((Zx-Fx)(Zy-Fy)) for a frame Zx by Zy and a piece whose upright box is Fx by Fy (Miles 1974;
// Lantuejoul 1980; formula from memory). At least 1. A piece that does not fit into the frame can never
// be seen whole: its weight is 0, it must be left out.
func FrameWeight(frameW, frameH, feretX, feretY float64) float64 {
	free := (frameW - feretX) * (frameH - feretY)
	if !(frameW > feretX && frameH > feretY) {
		return 0
	}
	return frameW * frameH / free
}
