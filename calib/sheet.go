package calib

import (
	"fmt"
	"math"
	"slices"

	"gristmark/calib/card"
	"gristmark/internal/result"
)

// Looking for markers goes in steps of growing cost; it stops at the first that finds enough.
var searches = []struct {
	pixels float64
	win    windows
	rate   float64 // smallest perimeter over the longer side
}{
	{1.05e6, windows{23, 23, 10}, 0.03},
	{1.05e6, windows{7, 45, 38}, 0.03},
	{3.2e6, windows{31, 31, 10}, 0.012},
	{3.2e6, windows{11, 71, 60}, 0.012},
}

// enoughMarkers of one sheet end the search.
const enoughMarkers = 3

// minMarkers of one sheet are needed for a scale: eight corners.
const minMarkers = 2

// readMarkers finds the markers in the photo; corners in px of the photo.
func readMarkers(p picture) ([]found, error) {
	var best []found
	var small grey
	var sx, sy float64
	pixels := 0.0
	for _, s := range searches {
		if s.pixels != pixels {
			if pixels > 0 && small.width == p.width {
				continue // there is nothing larger
			}
			var err error
			if small, sx, sy, err = p.shrinkFast(s.pixels); err != nil {
				return nil, err
			}
			pixels = s.pixels
		}
		markers, err := small.markers(s.win, s.rate)
		if err != nil {
			return nil, err
		}
		for i := range markers {
			for k := range 4 {
				c := &markers[i].corners[k]
				c[0], c[1] = c[0]*sx, c[1]*sy
			}
		}
		if mostOfOneSheet(markers) > mostOfOneSheet(best) {
			best = markers
		}
		if mostOfOneSheet(best) >= enoughMarkers {
			break
		}
	}
	return best, nil
}

func mostOfOneSheet(markers []found) int {
	count := map[string]int{}
	most := 0
	for _, m := range markers {
		if s, _, ok := card.ByID(m.id); ok {
			count[s.Name]++
			most = max(most, count[s.Name])
		}
	}
	return most
}

// sighting is one sheet seen in the photo.
type sighting struct {
	sheet   card.Sheet
	fit     fitted
	prior   prior
	cropped bool // the photo seems to be a part of a larger one
	obs     []observation
	markers []card.Marker // those that obs speak of, by observation.mark
	read    int           // markers that the detector read
}

// findSheet finds the first of the wanted kinds of sheet ("card", "mat") that shows.
func findSheet(p picture, spec Spec, lens Lens, wanted ...string) (*Plane, error) {
	markers, err := readMarkers(p)
	if err != nil {
		return nil, err
	}
	var all []sighting
	for _, s := range card.Sheets() {
		all = append(all, sightings(p, lens, s, markers)...)
	}
	for _, kind := range wanted {
		if best := bestOf(all, kind); best != nil {
			return planeOf(p, spec, lens, *best, all)
		}
	}
	return nil, noSheet(markers, wanted)
}

func bestOf(all []sighting, kind string) *sighting {
	var best *sighting
	for i := range all {
		if sheetName(all[i].sheet) == kind && (best == nil || all[i].read > best.read) {
			best = &all[i]
		}
	}
	return best
}

func noSheet(markers []found, wanted []string) error {
	what := wanted[0]
	if len(wanted) > 1 {
		what = "card or mat"
	}
	n := mostOfOneSheet(of(wanted, markers))
	if n >= minMarkers {
		return noRuler("%d markers of a %s were read, but they do not lie as on one flat %s; lay a single one flat, whole in the photo, and nothing printed like it beside it", n, what, what)
	}
	if n > 0 {
		return noRuler("%d of the %d markers needed could be read; keep the whole %s in the photo, in focus, flat and free of pieces", n, minMarkers, what)
	}
	return noRuler("no %s in the photo; lay one flat beside the pieces, or name another ruler with --scale", what)
}

// of leaves the markers of some kinds of sheet.
func of(kinds []string, markers []found) (out []found) {
	for _, m := range markers {
		if s, _, ok := card.ByID(m.id); ok && slices.Contains(kinds, sheetName(s)) {
			out = append(out, m)
		}
	}
	return out
}

// planeOf turns a sighting into a plane after holding it against the others.
func planeOf(p picture, spec Spec, lens Lens, s sighting, all []sighting) (*Plane, error) {
	unitMM, known := spec.printScale(s.sheet.Name)
	out := finishPlane(p, s.fit, lens, sheetName(s.sheet), unitMM)
	out.sheet, out.printKnown = s.sheet.Name, known
	print := PrintSD
	if known {
		print = CheckSD
	}
	out.scale.RelativeSD = math.Hypot(out.scale.RelativeSD, print)
	if err := agree(p, spec, lens, s, all); err != nil {
		return nil, err
	}
	out.scale.MarksUsed, out.scale.MarksDropped = s.countMarks()
	note, err := s.judge(out)
	if err != nil {
		return nil, err
	}
	out.scale.Note = note
	for i := range all {
		one := &all[i]
		q := &Plane{fit: one.fit, lens: lens, unitMM: 1}
		out.marks = append(out.marks, one.marks(q)...)
		out.exclude = append(out.exclude, one.exclude(q)...)
		if f := one.sheet.Field(); f != nil && out.field == nil {
			out.field = q.polygon(f)
		}
	}
	return out, nil
}

// agree refuses two rulers in one photo that say different things.
func agree(p picture, spec Spec, lens Lens, s sighting, all []sighting) error {
	centre := lens.ideal(result.XY{float64(p.width) / 2, float64(p.height) / 2})
	scale := func(v *view) float64 { return math.Log(v.mmPerPx(centre)) }
	printed := func(s *sighting) float64 { v, _ := spec.printScale(s.sheet.Name); return math.Log(v) }
	a, sdA := scale(&s.fit.view)+printed(&s), s.fit.sdOf(scale)
	for i := range all {
		o := &all[i]
		b, sdB := scale(&o.fit.view)+printed(o), o.fit.sdOf(scale)
		limit := 0.005 + 3*math.Sqrt(sdA*sdA+sdB*sdB+2*FloorSD*FloorSD)
		if d := math.Abs(a - b); d > limit {
			return conflict("the %s and another %s in the photo differ by %.1f %% in scale; leave only one, flat on the tray", sheetName(s.sheet), sheetName(o.sheet), 100*d)
		}
	}
	return nil
}

// The limits of judge, in relation to the size of the ruler in the photo.
const (
	strainedSD   = 0.01  // added where the lens would have to be odd (bends of 2 % of the height tried)
	maxResidual  = 0.006 // of the sheet's longer side: beyond it there is no scale
	noteResidual = 0.0012
	notePx       = 0.5 // residuals below it are never noted
)

// judge refuses a fit that does not carry a scale, and says what looks odd about one that does.
func (s *sighting) judge(p *Plane) (note string, err error) {
	side := math.Max(s.sheet.WidthMM, s.sheet.HeightMM) / p.scale.MMPerPx
	name := sheetName(s.sheet)
	switch r := p.scale.ResidualPx; {
	case r > maxResidual*side && r > notePx:
		return "", doubtful("the markers of the %s miss a flat sheet by %.1f px; lay it flat, uncreased, and take the photo again", name, r)
	case p.scale.RelativeSD > MaxRelativeSD:
		return "", doubtful("the scale is known to %.1f %% only (limit %.1f %%); bring the %s nearer to the middle, whole and larger in the photo", 100*p.scale.RelativeSD, 100*MaxRelativeSD, name)
	case r > noteResidual*side && r > notePx:
		note = fmt.Sprintf("the %s seems bent or creased: its markers miss a flat sheet by %.1f px", name, r)
	case s.fit.strained(s.prior):
		note = fmt.Sprintf("the %s seems bent, or the lens bends lines more than most: lay it flat, or make a camera profile with calibrate", name)
		p.scale.RelativeSD = math.Hypot(p.scale.RelativeSD, strainedSD)
	}
	if s.cropped && note == "" {
		note = "the photo seems to be cropped, or shows the sheet bent: its middle is not where the lens looks"
	}
	return note, nil
}

// countMarks tells how many markers carry the fit, and how many were thrown out: those with less
// than half of their pieces in use.
func (s *sighting) countMarks() (used, dropped int) {
	for _, ok := range s.inUse() {
		if ok {
			used++
		} else {
			dropped++
		}
	}
	return used, dropped
}

func (s *sighting) inUse() []bool {
	in, all := make([]int, len(s.markers)), make([]int, len(s.markers))
	for _, o := range s.obs {
		all[o.mark]++
		if !o.dropped {
			in[o.mark]++
		}
	}
	out := make([]bool, len(s.markers))
	for i := range out {
		out[i] = in[i] > 0 && 2*in[i] >= all[i]
	}
	return out
}

func (s *sighting) marks(p *Plane) []Mark {
	use := s.inUse()
	var out []Mark
	for i, m := range s.markers {
		mark := Mark{ID: m.ID, Used: use[i]}
		for _, c := range m.Corners() {
			mark.Outline = append(mark.Outline, p.ToPx(c))
		}
		out = append(out, mark)
	}
	return out
}

// exclude is the card with a margin, or the mat's rim in four strips.
func (s *sighting) exclude(p *Plane) [][]result.XY {
	const margin = 2 // mm
	w, h := s.sheet.WidthMM, s.sheet.HeightMM
	box := func(x0, y0, x1, y1 float64) []result.XY {
		return p.polygon([]result.XY{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}})
	}
	if !s.sheet.HasField() {
		return [][]result.XY{box(-margin, -margin, w+margin, h+margin)}
	}
	f := s.sheet.FieldMM
	return [][]result.XY{
		box(-margin, -margin, w+margin, f[1]), box(-margin, f[3], w+margin, h+margin),
		box(-margin, f[1], f[0], f[3]), box(f[2], f[1], w+margin, f[3]),
	}
}
