package vision

import (
	"image"

	"gristmark/vision/shape"
)

// manyMore is how many times as many pieces must lie on another surface than on the one around the ruler for it to be the tray, and some.
const manyMore, someMore = 2, 5

// choose takes the other field for the tray if by far more pieces have its ground round them, as where the ruler was laid beside the tray.
func (s *search) choose(other field, excluded []bool) error {
	first := s.field
	here, err := s.piecesOn(excluded)
	if err != nil {
		return err
	}
	s.field = other
	there, err := s.piecesOn(excluded)
	if there < manyMore*here+someMore {
		s.field = first
	}
	return err
}

// lacks reports whether most of the given cells, if any, lie beyond the outline of the field, which is not settled.
func (f *field) lacks(near []bool) bool { return count(near) > 0 && shareIn(near, f.mask) < 0.5 }

// piecesOn is how many pieces the network sees with the field's ground round them.
func (s *search) piecesOn(excluded []bool) (int, error) {
	lo, hi := shape.Bounds(s.field.outline)
	box := image.Rect(int(lo[0])*cellPx, int(lo[1])*cellPx, int(hi[0])*cellPx, int(hi[1])*cellPx)
	t, err := s.probe(box, excluded)
	return t.ground, err
}
