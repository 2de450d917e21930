package vision

import (
	"errors"
	"image"
	"math"
)

// What counts as a piece beyond the field.
const (
	strayMM       = 3.0   // beyond the field's outline: pieces at a rim stand out over it
	strayOdds     = 1.0   // log odds of a piece
	leastStrayMM2 = 4.0   // of a piece
	mostStrayMM2  = 300.0 // of a piece
	mostProbed    = 0.4e6 // net px
)

// strays are the pieces that the network sees beyond the field's outline.
type strays struct{ off, on, ground int } // pieces beyond the outline, on the field, and with the tray's bare ground round them

// share of all pieces.
func (t *strays) share() float64 { return float64(t.off) / math.Max(1, float64(t.off+t.on)) }

// findStrays looks for them on the network's map, more than awayMM beyond the outline; it leaves out what is too small or too large for a piece, or is cut by
// the border of what the network was shown.
func (s *search) findStrays(m *netMap, excluded []bool, awayMM float64) strays {
	w, h := s.field.cells.w, s.field.cells.h
	piece := make([]bool, w*h)
	for i := range piece {
		x, y := i%w*cellPx+cellPx/2, i/w*cellPx+cellPx/2
		piece[i] = !excluded[i] && m.holds(x, y) && m.piece[m.index(x, y)] > strayOdds
	}
	labels, n := components(piece, w, h)
	var t strays
	for _, p := range s.extents(m, labels, n, awayMM) {
		if 2*p.bare > p.ring && p.ring > 0 && !p.cut {
			t.ground++
		}
		switch mm2 := float64(p.cells) * cellPx * cellPx / (s.pxPerMM * s.pxPerMM); {
		case p.cut || mm2 < leastStrayMM2 || mm2 > mostStrayMM2:
		case 2*p.beyond > p.cells:
			t.off++
		default:
			t.on++
		}
	}
	return t
}

// extent of a connected part: its cells, those of them beyond the field, cells beside it and those of them that show the bare tray, and whether it reaches
// the border of what the network was shown.
type extent struct {
	cells, beyond, ring, bare int
	cut                       bool
}

// besideCells is how far from a part the ground is looked at: beyond the blur of its edge.
const besideCells = 3

func (s *search) extents(m *netMap, labels []int32, n int, awayMM float64) []extent {
	w, h := s.field.cells.w, s.field.cells.h
	near := growBy(fillOutline(s.field.outline, w, h), w, h, awayMM*s.pxPerMM/cellPx)
	out := make([]extent, n)
	for i, l := range labels {
		if l < 0 {
			continue
		}
		p := &out[l]
		p.cells++
		if !near[i] {
			p.beyond++
		}
		for _, j := range [4]int{i - besideCells, i + besideCells, i - besideCells*w, i + besideCells*w} {
			if j >= 0 && j < w*h && labels[j] < 0 {
				if p.ring++; s.field.bare[j] {
					p.bare++
				}
			}
		}
		x, y := i%w*cellPx, i/w*cellPx
		p.cut = p.cut || !m.holds(x-cellPx, y-cellPx) || !m.holds(x+2*cellPx, y+2*cellPx)
	}
	return out
}

// probe asks the network what lies in a box of the work image; nothing does in one that is too small to look at.
func (s *search) probe(box image.Rectangle, excluded []bool) (strays, error) {
	m, err := s.judge(box.Intersect(image.Rect(0, 0, s.work.bgr.w, s.work.bgr.h)), mostProbed)
	if errors.Is(err, errTooSmall) {
		return strays{}, nil
	}
	if err != nil {
		return strays{}, err
	}
	return s.findStrays(m, excluded, 0), nil
}
