package vision

import "math"

// What of the ground is looked at for its restlessness.
const (
	clearMM     = 3.0   // from the pieces, for shadows
	roundMM     = 9.0   // from some piece: what lies further off none is told from
	strayQuant  = 0.9   // of the ground strays less than is told
	strayNormal = 1.645 // that quantile of what strays by a standard deviation of 1, to both sides
	fewGround   = 200   // cells
)

// restless is how much the ground strays from its own broad colour, as a standard deviation of L*: that of the grain, which most of the bare tray has, or
// that of lines and marks which cover a tenth of the ground and more, as print does.
func (s *search) restless() float64 {
	w := s.back.w
	var off []float64
	for i, ok := range s.clearGround() {
		if !ok {
			continue
		}
		x, y := i%w*cellPx+cellPx/2, i/w*cellPx+cellPx/2
		off = append(off, math.Abs(float64(s.work.lab.at(y*s.work.lab.w + x)[0]-s.back.color[i][0])))
	}
	grain := 1 / float64(s.back.white[0])
	if len(off) < fewGround {
		return grain
	}
	return math.Max(grain, ranked(off, int(strayQuant*float64(len(off))))/strayNormal)
}

// clearGround marks the cells of the field that lie clear of the pieces, but round them. What was left out as no piece is ground.
func (s *search) clearGround() []bool {
	w, h := s.back.w, s.back.h
	kept := s.countedLabels()
	piece := make([]bool, w*h)
	for i := range piece {
		x, y := i%w*cellPx, i/w*cellPx
		for _, at := range [4][2]int{{0, 0}, {cellPx / 2, 0}, {0, cellPx / 2}, {cellPx / 2, cellPx / 2}} {
			l := s.labels[(y+at[1])*s.work.lab.w+x+at[0]]
			piece[i] = piece[i] || l >= 0 && int(l) < len(kept) && kept[l]
		}
	}
	ground := shrinkBy(s.field.mask, w, h, clearMM*s.pxPerMM/cellPx)
	beside, round := growBy(piece, w, h, clearMM*s.pxPerMM/cellPx), growBy(piece, w, h, roundMM*s.pxPerMM/cellPx)
	for i := range ground {
		ground[i] = ground[i] && !beside[i] && round[i]
	}
	return ground
}
