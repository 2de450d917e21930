package vision

import (
	"math"
	"slices"

	"gristmark/internal/result"
)

// Limits of the checks. Common practice unless said otherwise; those that refuse were set where the
// rendered tuning scenes stop being countable by eye.
const (
	leastSharpness = 0.41 // smallest piece over (smallest piece + width of an edge): 1.3 mm wide, from where on blots are named wrongly
	mostGlare      = 0.25 // of the pieces' area
	farTooMuch     = 0.50 // of the pieces' area, burnt out or black: refused
	mostDark       = 0.30 // of the pieces' area
	leastPxPerMM   = 2.0  // at the worst corner: a 0.9 mm piece is then 2 px wide
	mostTiltDeg    = 30
	mostCovered    = 0.50 // of the field
	mostOneBlob    = 0.20 // of the field, in one connected heap
	mostCut        = 0.35 // of the pieces
	mostTangled    = 0.45 // of the area of the pieces lies in knots of many
	leastBare      = 0.30 // of the field shows bare tray
	leastField     = 0.08 // of the photo is tray
	mostWinding    = 0.10 // of the pieces; of the rendered tuning scenes none has above 0.03, wrinkled film 0.20
	windingBelow   = 0.45 // solidity: a straw bent by a third of a circle has more
	fewWinding     = 4
	mostBeyond     = 0.05 // of the pieces lie beyond what was taken for the tray
	farTooBeyond   = 0.25 // of the pieces: refused
	mostTrayNoise  = 9.0  // standard deviation of L* on the bare tray; print has 13 and more, planks up to 5
)

// checks tells whether the photo is good enough, each with its value, limit and advice.
func (s *search) checks(p *Photo, plane Plane, opt Options, a *Analysis) []result.Check {
	glare, dark := s.clipped()
	beyond := s.strays.share()
	covered, heap := s.coverage()
	list := []result.Check{
		atLeast("sharpness", s.sharpness(opt), leastSharpness, "1", true,
			"the photo is blurred: hold the phone still, tap on the pieces to focus, and take it again"),
		atMost("glare", glare, mostGlare, "share of piece area", glare > farTooMuch,
			"the pieces shine: turn the tray out of the sun or the flash off, and take it again"),
		atMost("dark", dark, mostDark, "share of piece area", dark > farTooMuch,
			"the pieces are too dark to tell apart: more light, or a longer exposure"),
		atLeast("px_per_mm", s.worstPxPerMM(p, plane), leastPxPerMM, "px/mm", true,
			"the pieces are too small in the picture: go nearer or photograph half the tray at a time"),
		atMost("covered", covered, mostCovered, "share of field", true,
			"too much of the tray is covered: spread fewer pieces, side by side, on a tray of one colour"),
		atMost("tangled", s.tangled(), mostTangled, "share of piece area", true,
			"pieces lie on each other in knots that cannot be told apart: spread them out"),
		atMost("heaped", heap, mostOneBlob, "share of field in one heap", true,
			"pieces lie on each other and cannot be counted: spread them out"),
		atLeast("plain_tray", s.bareShare(), leastBare, "share of field", true,
			"no plain tray is to be seen: use a matte tray of one colour, spread fewer pieces and fill the picture with it"),
		atLeast("field", s.fieldShare(), leastField, "share of photo", true,
			"no tray is to be seen: use a matte tray of one colour and fill the picture with it"),
		atMost("tray_noise", s.restless(), mostTrayNoise, "L*", true,
			"the ground under the pieces is too restless to tell them from it: use a matte tray of one colour"),
		atMost("cut_pieces", cutShare(a.Particles), mostCut, "share of pieces", false,
			"many pieces are cut by the edge: take the whole tray into the picture"),
		atMost("winding", windingShare(a.Particles), mostWinding, "share of pieces", true,
			"wrinkles or lines of the ground are taken for pieces: use a smooth, matte tray of one colour"),
		atMost("beyond_tray", beyond, mostBeyond, "share of pieces", beyond > farTooBeyond,
			"pieces lie beyond what looks like the tray and are not counted: no shadow's edge across it, nothing beside it, and take it again"),
		atLeast("pieces", float64(len(a.Particles)), 1, "pieces", true,
			"no piece was found: is this a tray with chopped maize on it?"),
	}
	if t, ok := plane.(interface{ Scale() result.Scale }); ok {
		list = append(list, atMost("tilt", t.Scale().TiltDeg, mostTiltDeg, "deg", true,
			"the photo is taken too much from the side: hold the phone level above the tray"))
	}
	return list
}

func atLeast(name string, value, limit float64, unit string, refuses bool, advice string) result.Check {
	return check(name, value >= limit, value, limit, unit, refuses, advice)
}

func atMost(name string, value, limit float64, unit string, refuses bool, advice string) result.Check {
	return check(name, value <= limit, value, limit, unit, refuses, advice)
}

func check(name string, ok bool, value, limit float64, unit string, refuses bool, advice string) result.Check {
	c := result.Check{Name: name, OK: ok, Value: value, Limit: limit, Unit: unit, Refuses: refuses}
	if !ok {
		c.Advice = advice
	}
	return c
}

// problem is the advice of the first failed check that makes the numbers meaningless.
func problem(checks []result.Check) string {
	for _, c := range checks {
		if !c.OK && c.Refuses {
			return c.Advice
		}
	}
	return ""
}

// windingShare is the share of the pieces that wind as no piece of chop does, but the folds of a film or the lines of a pattern.
func windingShare(pieces []result.Particle) float64 {
	n := 0
	for _, p := range pieces {
		if p.Solidity < windingBelow {
			n++
		}
	}
	if n < fewWinding {
		return 0
	}
	return float64(n) / float64(len(pieces))
}

// sharpness is e / (e + r): e the smallest piece to be counted, r the median width of the pieces'
// edges (the whole step over its steepest rise), both in mm. 1 is a perfect edge.
func (s *search) sharpness(opt Options) float64 {
	if len(s.widths) == 0 {
		return 1
	}
	v := slices.Clone(s.widths)
	slices.Sort(v)
	r := v[len(v)/2] / s.pxPerMM
	return opt.PieceMM / (opt.PieceMM + r)
}

// Stored values from which a channel is burnt out, and up to which it is black.
const burnt, black = 250, 10

// clipped is the share of the pieces' area that is burnt out, in green and another channel, and that is black.
func (s *search) clipped() (light, dark float64) {
	n, w := 0, s.work.bgr.w
	runs, first := runsOf(s.mask, w, s.work.bgr.h)
	for y := range s.work.bgr.h {
		for _, r := range runs[first[y]:first[y+1]] {
			n += int(r.x1 - r.x0)
			for pix := s.work.bgr.pix[3*(y*w+int(r.x0)) : 3*(y*w+int(r.x1))]; len(pix) >= 3; pix = pix[3:] {
				switch {
				case min(pix[1], max(pix[0], pix[2])) >= burnt:
					light++
				case max(pix[0], pix[1], pix[2]) <= black:
					dark++
				}
			}
		}
	}
	return light / math.Max(1, float64(n)), dark / math.Max(1, float64(n))
}

// coverage is the share of the field that pieces cover, and that of the largest connected one.
func (s *search) coverage() (all, largest float64) {
	n := 0
	for _, m := range s.field.mask {
		if m {
			n++
		}
	}
	px := math.Max(1, float64(n*cellPx*cellPx))
	for _, b := range s.blobs {
		all += float64(b.n) / px
		largest = math.Max(largest, float64(b.n)/px)
	}
	return all, largest
}

// manyParts in one connected blob make a knot.
const manyParts = 7

// tangled is the share of the pieces' area in blobs of many pieces.
func (s *search) tangled() float64 {
	var all, knots float64
	for i, b := range s.blobs {
		if s.kept[i] == 0 {
			continue // a chart, a lid, a drawn line
		}
		all += float64(b.n)
		if s.kept[i] >= manyParts {
			knots += float64(b.n)
		}
	}
	return knots / math.Max(1, all)
}

// fieldShare is the share of the photo that is field.
func (s *search) fieldShare() float64 {
	return float64(count(s.field.mask)) / float64(len(s.field.mask))
}

func (s *search) bareShare() float64 { return shareIn(s.field.mask, s.field.bare) }

// worstPxPerMM is the resolution at the corner of the field that lies farthest from the camera.
func (s *search) worstPxPerMM(p *Photo, plane Plane) float64 {
	worst := math.Inf(1)
	for _, q := range s.fieldPx() {
		q[0] = math.Min(math.Max(q[0], 0), float64(p.Width()))
		q[1] = math.Min(math.Max(q[1], 0), float64(p.Height()))
		worst = math.Min(worst, 1/plane.MMPerPxAt(q))
	}
	if math.IsInf(worst, 1) || math.IsNaN(worst) {
		return 0
	}
	return worst
}

func cutShare(ps []result.Particle) float64 {
	n := 0
	for _, p := range ps {
		if p.CutByEdge {
			n++
		}
	}
	return float64(n) / math.Max(1, float64(len(ps)))
}
