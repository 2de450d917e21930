package vision

import (
	"math"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// truncation is how the photo's frame cuts the spread of pieces off, along the photo's two axes.
type truncation struct {
	extentPx [2]float64 // of the counted field in the photo; infinite where the frame does not reach it
	share    [2]float64 // 0..1 of the pieces that a spread going on beyond the frame would have cut, that are cut
}

// weigh gives each draft the number of pieces of the spread that it stands for. A long piece meets the frame more often than a short one
// and is not counted then, so the kept ones stand for more (Miles 1974; Lantuéjoul 1980): but only where the spread goes on beyond the frame.
// Chop that was spread inside of the view, on a table or a sheet that the frame cuts, is all in view, however far the table goes. The pieces
// tell: in a spread that goes on, two pieces meet the frame for each that the weights add.
func (s *search) weigh(drafts []draft) {
	t := truncation{extentPx: s.framePx()}
	var cut, added [2]float64
	for i := range drafts {
		d := &drafts[i]
		if !d.CutByEdge {
			w := t.weights(d.OutlinePx)
			added[0], added[1] = added[0]+w[0]-1, added[1]+w[1]-1
			continue
		}
		for axis, at := range s.atFrame(d.OutlinePx) {
			if at {
				cut[axis]++
			}
		}
	}
	t.follow(cut, added)
	for i := range drafts {
		drafts[i].Weight = t.weight(drafts[i].OutlinePx)
	}
}

// follow takes the shares from the pieces that meet the frame along each axis, and from what the full weights would add to the kept ones.
func (t *truncation) follow(cut, added [2]float64) {
	for axis := range t.share {
		t.share[axis] = math.Min(1, ratio(cut[axis], 2*added[axis]))
	}
}

// weight is that of a kept piece with outline o, photo px; at least 1.
func (t *truncation) weight(o []result.XY) float64 {
	w := t.weights(o)
	return (1 + t.share[0]*(w[0]-1)) * (1 + t.share[1]*(w[1]-1))
}

// weights are those for each axis in a spread that goes on beyond the frame.
func (t *truncation) weights(o []result.XY) [2]float64 {
	lo, hi := shape.Bounds(o)
	w := [2]float64{1, 1}
	for axis := range w {
		if f, z := hi[axis]-lo[axis], t.extentPx[axis]; !math.IsInf(z, 1) && f < 0.9*z {
			w[axis] = shape.FrameWeight(z, 1, f, 0)
		}
	}
	return w
}

// framePx is the extent of the counted field in the photo; an axis is infinite where the photo's frame does not truncate the
// field along it.
func (s *search) framePx() [2]float64 {
	lo, hi := shape.Bounds(s.fieldPx())
	b := [2]float64{hi[0] - lo[0], hi[1] - lo[1]}
	for axis := range b {
		if !s.field.cut[axis] && !s.field.cut[axis+2] {
			b[axis] = math.Inf(1)
		}
	}
	return b
}

// atFrame tells for each axis whether an outline, photo px, comes within a cell and a half of the photo's frame.
func (s *search) atFrame(o []result.XY) (at [2]bool) {
	const margin = 1.5 * cellPx
	size := [2]float64{float64(s.work.lab.w) * s.work.sx, float64(s.work.lab.h) * s.work.sy}
	near := [2]float64{margin * s.work.sx, margin * s.work.sy}
	lo, hi := shape.Bounds(o)
	for axis := range at {
		at[axis] = lo[axis] < near[axis] || hi[axis] > size[axis]-near[axis]
	}
	return at
}
