package vision

import (
	"math"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// Limits of what is seen beyond the line of a given field.
const (
	beyondMM  = 3.0 // a piece 6 mm high at its line, seen at 27° from straight above, hides so much of what lies beyond
	lineBlurs = 1.5 // work px to either side of the line
)

// beyond is where pieces of a given field may be seen that lies off it: one that stands by the field's line hides what is behind. The tray's colour is
// not known there, so that only the network tells pieces from their ground. The zero value is for a field that was not given.
type beyond struct {
	field []result.XY // outline, work px
	plain []bool      // work px on the field that its line does not blur
}

// seeBeyond tells what lies beyond a field's outline, cells, in a picture of w x h work px, and the cells of the field and at most beyondMM from it.
func seeBeyond(f *field, given []result.XY, w, h int, mmPerCell float64) (b beyond, reach []bool) {
	if given == nil {
		return b, f.mask
	}
	for _, p := range given {
		b.field = append(b.field, result.XY{p[0] * cellPx, p[1] * cellPx})
	}
	b.plain = fillOutline(shape.Inset(b.field, lineBlurs), w, h)
	return b, growBy(f.mask, f.cells.w, f.cells.h, beyondMM/mmPerCell)
}

// holds reports whether the field, if it was given, holds a point, work px.
func (b *beyond) holds(at result.XY) bool { return b.field == nil || shape.Contains(b.field, at) }

// box is what the network must see of a field with the outline, cells: lowest and highest work px.
func (b *beyond) box(outline []result.XY, pxPerMM float64) (lo, hi result.XY) {
	lo, hi = shape.Bounds(outline)
	margin := 0.0
	if b.field != nil {
		margin = beyondMM * pxPerMM
	}
	for k := range 2 {
		lo[k], hi[k] = math.Max(0, lo[k]*cellPx-margin), hi[k]*cellPx+margin
	}
	return lo, hi
}

// asContrast is the contrast, times contrastScale, that speaks for a piece as the network's log odds do; none where they speak against it.
func asContrast(odds float32) uint8 {
	if odds <= 0 {
		return 0
	}
	return uint8(min(255, contrastScale*(weakLimit+contrastPerOdds*min(odds, mostNet))))
}

// follow marks the pieces' pixels on the field's line and beyond it by what the network says. None of them is strong: a piece must be seen on the field.
func (s *search) follow(mask, strong []bool) {
	if s.beyond.field == nil || s.net == nil {
		return
	}
	w, h := s.work.lab.w, s.work.lab.h
	across := s.net.columns(w)
	for y := range h {
		row, cy := s.net.row(y), min(y/cellPx, s.back.h-1)
		for x := range w {
			i, cell := y*w+x, cy*s.back.w+min(x/cellPx, s.back.w-1)
			if s.beyond.plain[i] || !s.reach[cell] {
				continue
			}
			odds := s.net.lerp(s.net.piece, &across[x], &row)
			mask[i], strong[i], s.contrast[i] = odds > 0, false, asContrast(odds)
		}
	}
}
