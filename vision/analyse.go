package vision

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// Analysis is what one photo shows.
type Analysis struct {
	Particles   []result.Particle
	Features    [][]float64 // of each particle, in the order of FeatureNames
	CloseUps    []CloseUp   // of each particle, for fitting: only with Options.KeepAll
	Checks      []result.Check
	Field       []result.XY // outline of the counted field, px
	FieldMM2    float64     // its area on the tray plane less what is excluded
	FieldIsTray bool        // the tray's rim is in view all round
	Problem     string      // why the photo is refused; empty when it is measured
	Notes       []string    // doubts that do not refuse it
}

// FeatureNames lists the features of a particle.
func FeatureNames() []string { return append([]string(nil), featureNames...) }

// Analyse finds, measures and names the pieces that the photo shows.
func Analyse(p *Photo, plane Plane, opt Options) (*Analysis, error) {
	s, err := find(p, plane, opt)
	if err != nil {
		return nil, err
	}
	a := &Analysis{Field: s.fieldPx(), FieldMM2: s.fieldMM2(plane), FieldIsTray: s.field.cut == [4]bool{}}
	drafts, dropped := dropForeign(s.drafts(p, plane, opt))
	a.Notes = droppedNotes(dropped)
	if s.beside {
		a.Notes = append(a.Notes, "the ruler lies beside the tray, so that the scale is that of what it lies on: lay it on the tray, as high as the pieces")
	}
	if err := nameAll(drafts, p, plane, opt); err != nil {
		return nil, err
	}
	if !opt.KeepAll {
		kept, n := keepCrop(drafts)
		drafts, a.Notes = kept, append(a.Notes, n.notes()...)
	}
	s.finish(drafts, plane)
	a.take(drafts, opt.KeepAll)
	a.Checks = append(s.checks(p, plane, opt, a), toldChecks(s.faintRegions(), len(a.Particles))...)
	a.Problem = problem(a.Checks)
	return a, nil
}

// drafts are the parts of what was found that are large enough to count, described but not named.
func (s *search) drafts(p *Photo, plane Plane, opt Options) []draft {
	parts := s.parts(p)
	out := make([]draft, 0, len(parts))
	for _, q := range parts {
		if d, ok := s.describe(q, plane, opt); ok {
			out = append(out, d)
		}
	}
	return out
}

// droppedNotes say what dropForeign left out.
func droppedNotes(dropped map[string]int) (notes []string) {
	for _, why := range slices.Sorted(maps.Keys(dropped)) {
		notes = append(notes, fmt.Sprintf("left out as %s: %d", why, dropped[why]))
	}
	return notes
}

// nameAll names the drafts by their close-ups and features; those in doubt after a second look.
func nameAll(drafts []draft, p *Photo, plane Plane, opt Options) error {
	model, err := loadModel()
	if err != nil {
		return err
	}
	if err := seeClose(drafts, p, plane); err != nil {
		return err
	}
	name(drafts, model, opt)
	doubtful, err := lookAgain(drafts)
	if err == nil && doubtful > 0 {
		name(drafts, model, opt)
	}
	return err
}

// finish measures the drafts that stay, and tells of how many pieces of the spread each stands for.
func (s *search) finish(drafts []draft, plane Plane) {
	s.kept = make([]int, len(s.blobs))
	for i := range drafts {
		d := &drafts[i]
		s.kept[d.blob]++
		d.finish(plane)
	}
	s.weigh(drafts)
}

// take makes particles of the drafts, numbered from 1.
func (a *Analysis) take(drafts []draft, closeUps bool) {
	for i := range drafts {
		drafts[i].ID = i + 1
		a.Particles = append(a.Particles, drafts[i].Particle)
		a.Features = append(a.Features, drafts[i].features)
		if closeUps {
			a.CloseUps = append(a.CloseUps, drafts[i].closeUp)
		}
	}
}

// search holds what the stages up to the mask found.
type search struct {
	work     work
	field    field
	back     background
	level    evenness
	tiles    *tileShades
	contrast []uint8
	net      *netMap
	mask     []bool
	depth    []float32
	pxPerMM  float64 // work px per mm at the centre
	minPx    int
	labels   []int32
	blobs    []blob
	kept     []int // number of pieces of each blob that were not left out
	cuts     *CutModel
	judgeCut func(f []float64, a, b []result.XY) float64
	beyond   beyond
	strays   strays
	beside   bool      // the ruler lies beside the tray
	reach    []bool    // cells of the field, and beyond
	edge     []float32 // each cell's distance to the edge of those, cells
	widths   []float64 // of the pieces' edges, work px
	last     lastLook
}

func find(p *Photo, plane Plane, opt Options) (*search, error) {
	centre := result.XY{float64(p.Width()) / 2, float64(p.Height()) / 2}
	mmPerPx := plane.MMPerPxAt(centre)
	cuts, err := loadCuts()
	if err != nil {
		return nil, err
	}
	edges, err := loadEdges()
	if err != nil {
		return nil, err
	}
	s := &search{work: newWork(p, workFactor(p.Width(), p.Height(), mmPerPx)), cuts: cuts, judgeCut: opt.JudgeCut}
	s.pxPerMM = 1 / (mmPerPx * math.Sqrt(s.work.sx*s.work.sy))
	cells := s.work.lab.shrink(cellPx)
	excluded, near := s.excludedCells(cells.w, cells.h, opt.Exclude)
	var given []result.XY
	if opt.Field != nil {
		given = s.work.toCells(opt.Field)
	}
	mmPerCell := cellPx / s.pxPerMM
	var other field
	s.field, other = findField(cells, excluded, near, given, mmPerCell)
	if other.outline != nil {
		if err := s.choose(other, excluded); err != nil {
			return nil, err
		}
	}
	if given == nil {
		if err := s.joinPeopled(excluded); err != nil {
			return nil, err
		}
	}
	s.beside = s.field.lacks(near)
	s.field.settle(excluded, mmPerCell)
	if err := s.lookAtField(given, opt.Lines); err != nil {
		return nil, err
	}
	if given == nil {
		s.strays = s.findStrays(s.net, excluded, strayMM)
	}
	w, h := s.work.lab.w, s.work.lab.h
	s.minPx = max(5, int(0.6*opt.PieceMM*opt.PieceMM*s.pxPerMM*s.pxPerMM))
	s.last = lastLook{model: edges, net: s.net, record: opt.ProbeEdge}
	var n int
	s.mask, s.labels, n = s.foreground()
	s.blobs = blobsOf(s.labels, n, w, h, s.minPx)
	s.depth = depths(s.labels, s.blobs, w, h)
	return s, nil
}

// lookAtField tells what on the field differs from its ground, by the ground's colour and by the network. given and lines are those of Options, the field in
// cells.
func (s *search) lookAtField(given []result.XY, lines [][2]result.XY) (err error) {
	mmPerCell := cellPx / s.pxPerMM
	s.beyond, s.reach = seeBeyond(&s.field, given, s.work.lab.w, s.work.lab.h, mmPerCell)
	s.edge = distanceTo(s.reach, s.field.cells.w, s.field.cells.h, false)
	s.back = modelBackground(&s.field, max(2, int(6/mmPerCell)))
	s.back.measureNoise(&s.work, &s.field)
	s.level = levelOf(&s.back, &s.field)
	s.tiles = newTileShades(&s.back)
	s.contrast = s.back.contrast(&s.work, &s.field, s.tiles)
	s.discountLines(lines)
	s.net, err = s.judgePixels()
	return err
}

// excludedCells marks the cells under the excluded polygons, and those around them.
func (s *search) excludedCells(w, h int, polys [][]result.XY) (excluded, near []bool) {
	excluded = make([]bool, w*h)
	if len(polys) == 0 {
		return excluded, nil
	}
	for _, poly := range polys {
		for i, in := range fillOutline(s.work.toCells(poly), w, h) {
			excluded[i] = excluded[i] || in
		}
	}
	near = growBy(excluded, w, h, 6*s.pxPerMM/cellPx)
	for i := range near {
		near[i] = near[i] && !excluded[i]
	}
	return excluded, near
}

// parts splits the blobs and refines the outlines of their parts on the full photo.
func (s *search) parts(p *Photo) []seen {
	w, h := s.work.lab.w, s.work.lab.h
	sp := splitter{cuts: s.cuts, oracle: s.oracle(), depth: s.depth, w: w, h: h, pxPerMM: s.pxPerMM, minArea: float64(s.minPx), contact: s.net, lab: &s.work.lab, smooth: frayed(s.field.noise)}
	edge := edgeFinder{pix: p.pixels(), w: p.Width(), h: p.Height(), contrast: s.contrast, cw: w, ch: h, sx: s.work.sx, sy: s.work.sy, pxPerMM: s.pxPerMM, last: s.last}
	var all []part
	var out []seen
	for i := range s.blobs {
		for _, q := range sp.bridge(sp.split(s.blobs[i].outline)) {
			all = append(all, q)
			out = append(out, seen{work: q.outline, blob: i, crossed: q.crossed})
		}
	}
	for i, px := range edge.refine(all) {
		out[i].px = px
	}
	s.widths = edge.wide
	return out
}

// oracle hands cuts to whoever fits their model, in photo px; nil otherwise.
func (s *search) oracle() func(f []float64, a, b []result.XY) float64 {
	if s.judgeCut == nil {
		return nil
	}
	up := func(o []result.XY) []result.XY {
		out := make([]result.XY, len(o))
		for i, p := range o {
			out[i] = result.XY{p[0] * s.work.sx, p[1] * s.work.sy}
		}
		return out
	}
	return func(f []float64, a, b []result.XY) float64 { return s.judgeCut(f, up(a), up(b)) }
}

// seen is a part's outline, in work px as found and in photo px as refined.
type seen struct {
	work, px []result.XY
	blob     int  // index of the blob it came from
	crossed  bool // see part
}

func (s *search) fieldPx() []result.XY {
	out := make([]result.XY, len(s.field.outline))
	for i, p := range s.field.outline {
		out[i] = result.XY{p[0] * cellPx * s.work.sx, p[1] * cellPx * s.work.sy}
	}
	return out
}

func (s *search) fieldMM2(plane Plane) float64 {
	n, all := 0, 0
	inside := fillOutline(s.field.outline, s.back.w, s.back.h)
	for i, m := range s.field.mask {
		if m {
			n++
		}
		if inside[i] {
			all++
		}
	}
	area := math.Abs(shape.Area(toMM(s.fieldPx(), plane)))
	return area * float64(n) / math.Max(1, float64(all))
}

func toMM(px []result.XY, plane Plane) []result.XY {
	out := make([]result.XY, len(px))
	for i, p := range px {
		out[i] = plane.ToMM(p)
	}
	return out
}
