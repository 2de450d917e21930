package vision

import (
	"math"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// Where pieces could not be told from the tray: it has nearly the colour of some pieces, and something of a piece's size stands out a
// little, but too little to be taken for one. Limits from the tuning scenes of white, wooden, cardboard, paper and plain trays.
const (
	riskyDistance   = 8.0    // standard deviations of the tray, within which a colour of pieces is near it
	riskyShare      = 0.01   // of the pieces, from which such colours matter
	faintContrast   = 5.0    // standard deviations, from which something stands out a little
	suspectContrast = 2.0    // standard deviations, from which something does so that the network holds for a piece
	suspectOdds     = -2.5   // with these log odds at least
	plainContrast   = 16.0   // on average over what stands out: no piece would be missed there
	faintMM2        = 2.0    // smaller things are specks
	mostFaintMM2    = 500.0  // larger things are none of the crop's: what lies beyond the tray
	leastLight      = 0.7    // of the tray's lightness (L*+16) on average: darker things are shadows, or plain to see
	besideMM        = 0.7    // around pieces that were found: their soft edge
	regionMM        = 1.5    // a region reaches so far beyond what it is drawn around
	joinMM          = 3.0    // regions nearer to each other than twice this are one
	leastFaint      = 0.0003 // of the field, from which it is told
	leastToldPart   = 0.75   // of the field must be clear of such regions
	lostLight       = 0.95   // of the tray's lightness, from which what stands out by its colour is no shadow
	lostMM          = 2.0    // from what was counted, from which it is none of its rim or shadow
	mostLost        = 0.05   // of the pieces, counted and lost, may be lost so
)

// pieceColours are colours of pieces as (L*+16, a*, b*), each with the share of the pieces that it stands for: 4800 kernels, kernel pieces
// and pieces of stover on plain trays of the tuning scenes, in forty clusters (k-means over colours thinned to steps of 6 units, so
// that rare pale ones have a cluster too).
var pieceColours = [...][4]float32{
	{91, 5, 38, 0.096}, {93, -2, 17, 0.096}, {103, -4, 22, 0.089}, {88, 7, 53, 0.082}, {83, -1, 29, 0.058},
	{106, -2, 7, 0.054}, {74, 5, 31, 0.048}, {104, -2, 34, 0.044}, {80, 7, 42, 0.043}, {83, -12, 38, 0.040},
	{85, -2, 6, 0.025}, {61, 9, 32, 0.023}, {77, 13, 59, 0.023}, {76, 2, 18, 0.023}, {95, -8, 40, 0.020}, {71, 9, 48, 0.020},
	{103, -3, 53, 0.019}, {95, 5, 67, 0.017}, {92, -11, 26, 0.016}, {60, 14, 43, 0.016}, {86, -5, 48, 0.016},
	{70, -11, 29, 0.014}, {85, 14, 70, 0.013}, {54, -6, 28, 0.013}, {70, -17, 41, 0.013}, {61, -3, 36, 0.011},
	{70, -4, 44, 0.010}, {64, 8, 20, 0.007}, {59, -21, 30, 0.007}, {67, -1, 16, 0.005}, {80, -17, 53, 0.005},
	{45, -12, 22, 0.005}, {66, 19, 52, 0.005}, {49, 6, 19, 0.005}, {67, -29, 44, 0.004}, {54, 21, 25, 0.004},
	{75, -22, 30, 0.003}, {55, 15, 14, 0.003}, {71, 20, 25, 0.003}, {37, 13, 12, 0.001},
}

// faint is what stands out a little from a tray of the pieces' colour and was not counted.
type faint struct {
	regions [][]result.XY // photo px
	share   float64       // of the field that they take
	lost    int           // things that look like pieces by themselves
}

// toldChecks tell where pieces could not be told from the tray, whether that is too much of it, and whether too many pieces are lost there beside
// those counted.
func toldChecks(f faint, counted int) []result.Check {
	low := atMost("low_contrast", f.share, leastFaint, "share of field", false,
		"in the hatched parts pieces can hardly be told from the tray, and some may be missing: take a darker tray of one colour, such as navy or black")
	if !low.OK {
		low.RegionsPx = f.regions
	}
	return []result.Check{low, atLeast("told_apart", 1-f.share, leastToldPart, "share of field", true,
		"the tray has the colour of the pieces, which cannot be told from it: take a darker tray of one colour, such as navy or black"),
		atMost("lost", lostShare(f.lost, counted), mostLost, "share of pieces", true,
			"too many pieces, in the hatched parts, can hardly be told from the tray, and a count would leave them out: take a darker tray of one colour, such as navy or black")}
}

// lostShare is the share of the pieces that is lost: at least, two standard deviations of a count below what is seen, for a stain or a knot of the wood
// may be one of them.
func lostShare(seen, counted int) float64 {
	lost := max(0, float64(seen)-2*math.Sqrt(float64(seen)))
	return lost / max(1, lost+float64(counted))
}

// faintRegions looks where something of a piece's size stands out a little from a tray of the pieces' colour.
func (s *search) faintRegions() (f faint) {
	w, h := s.back.w, s.back.h
	risky, any := s.riskyCells()
	if !any {
		return f
	}
	var cells []bool
	cells, f.lost = s.faintCells(risky)
	mmPerCell := cellPx / s.pxPerMM
	grown := growBy(cells, w, h, (regionMM+joinMM)/mmPerCell)
	grown = shrinkBy(grown, w, h, joinMM/mmPerCell)
	all, marked := 0, 0
	for i, in := range s.field.mask {
		grown[i] = grown[i] && in
		if in {
			all++
		}
		if grown[i] {
			marked++
		}
	}
	labels, n := components(grown, w, h)
	for _, b := range blobsOf(labels, n, w, h, 1) {
		o := shape.Simplify(b.outline, 0.7)
		for i, p := range o {
			o[i] = result.XY{p[0] * cellPx * s.work.sx, p[1] * cellPx * s.work.sy}
		}
		if len(o) >= 3 {
			f.regions = append(f.regions, o)
		}
	}
	f.share = float64(marked) / math.Max(1, float64(all))
	return f
}

// riskyCells marks the cells of the field where the bare tray is nearly as some pieces are; it is looked at in tiles.
func (s *search) riskyCells() (risky []bool, any bool) {
	w, h := s.back.w, s.back.h
	risky = make([]bool, w*h)
	for y0 := 0; y0 < h; y0 += tileCells {
		for x0 := 0; x0 < w; x0 += tileCells {
			if !s.field.mask[y0*w+x0] || s.nearShare(s.back.color[y0*w+x0]) < riskyShare {
				continue
			}
			any = true
			for y := y0; y < min(y0+tileCells, h); y++ {
				for x := x0; x < min(x0+tileCells, w); x++ {
					risky[y*w+x] = s.field.mask[y*w+x]
				}
			}
		}
	}
	return risky, any
}

// nearShare is the share of the pieces whose colour lies near the given one of the tray.
func (s *search) nearShare(tray [3]float32) (share float64) {
	for _, c := range pieceColours {
		if s.back.white.distance([3]float32(c[:3]), tray) < riskyDistance {
			share += float64(c[3])
		}
	}
	return share
}

// faintCells marks the risky cells with what stands out a little and was not counted, and tells how much of it looks like pieces by itself: no
// shade, apart from all that was counted but among it, and of a colour of its own.
func (s *search) faintCells(risky []bool) (cells []bool, lost int) {
	w, h := s.work.lab.w, s.work.lab.h
	counted := s.countedPixels()
	beside, around := growBy(counted, w, h, besideMM*s.pxPerMM), growBy(counted, w, h, lostMM*s.pxPerMM)
	mask := make([]bool, w*h)
	for i, c := range s.contrast {
		mask[i] = !beside[i] && s.standsOut(i, float64(c)/contrastScale)
	}
	labels, n := components(mask, w, h)
	type thing struct {
		px, inRisk      int
		contrast, light float64   // sums; of lightness over the tray's
		near            bool      // within lostMM of what was counted
		at              result.XY // sums of its places, work px
		atEdge          bool
	}
	things := make([]thing, n)
	eachLabel(labels, w, s.back.w, s.back.h, func(l, i, cell int) {
		t := &things[l]
		t.near = t.near || around[i]
		t.px++
		t.at[0], t.at[1] = t.at[0]+float64(i%w), t.at[1]+float64(i/w)
		t.contrast += float64(s.contrast[i]) / contrastScale
		t.light += float64(s.work.lab.at(i)[0] / s.back.color[cell][0])
		t.atEdge = t.atEdge || s.edge[cell] < 2*onEdge
		if risky[cell] {
			t.inRisk++
		}
	})
	among := s.countedHull()
	small := make([]bool, n)
	for l, t := range things {
		n := float64(t.px)
		mm2 := n / (s.pxPerMM * s.pxPerMM)
		small[l] = mm2 >= faintMM2 && mm2 <= mostFaintMM2 && 2*t.inRisk > t.px && t.contrast < plainContrast*n && t.light > leastLight*n && !t.atEdge
		if small[l] && t.contrast > faintContrast*n && t.light > lostLight*n && !t.near && shape.Contains(among, result.XY{t.at[0] / n, t.at[1] / n}) {
			lost++
		}
	}
	cells = make([]bool, len(risky))
	eachLabel(labels, w, s.back.w, s.back.h, func(l, _, cell int) { cells[cell] = cells[cell] || small[l] })
	return cells, lost
}

// standsOut tells whether work pixel i, with its contrast, stands out a little, by its colour or to the network.
func (s *search) standsOut(i int, contrast float64) bool {
	if contrast > faintContrast {
		return true
	}
	return s.net != nil && contrast > suspectContrast && s.net.piece[s.net.index(i%s.work.lab.w, i/s.work.lab.w)] > suspectOdds
}

// eachLabel visits the labelled work pixels with their label, index and cell.
func eachLabel(labels []int32, w, cw, ch int, visit func(label, i, cell int)) {
	for i, l := range labels {
		if l >= 0 {
			visit(int(l), i, min(i/w/cellPx, ch-1)*cw+min(i%w/cellPx, cw-1))
		}
	}
}

// countedHull is the convex hull, work px, of the blobs of which a piece was counted.
func (s *search) countedHull() []result.XY {
	var all []result.XY
	for i, b := range s.blobs {
		if s.kept[i] > 0 {
			all = append(all, b.outline...)
		}
	}
	return shape.ConvexHull(all)
}

// countedLabels tells of each label whether at least one piece of its blob was counted, up to the last blob's.
func (s *search) countedLabels() (kept []bool) {
	for i, b := range s.blobs {
		if n := int(b.label) + 1; n > len(kept) {
			kept = append(kept, make([]bool, n-len(kept))...)
		}
		kept[b.label] = s.kept[i] > 0
	}
	return kept
}

// countedPixels marks the work pixels of the blobs of which at least one piece was counted.
func (s *search) countedPixels() []bool {
	kept := s.countedLabels()
	out := make([]bool, len(s.labels))
	for i, l := range s.labels {
		if l >= 0 && int(l) < len(kept) {
			out[i] = kept[l]
		}
	}
	return out
}
