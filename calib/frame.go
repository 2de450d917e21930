package calib

import (
	"math"
	"slices"

	"gristmark/internal/result"
)

// framePixels is the size of the copy in which the sides of a rectangle are looked for.
const framePixels = 0.8e6

// Limits of what counts as a side and as a rectangle.
const (
	minSideShare   = 0.35  // of what the photo holds of a side, that must show once measured
	roughSideShare = 0.30  // the same, in the reduced copy
	minInsideShare = 0.40  // of a side that the photo must hold
	hopelessShare  = 0.12  // the same, at the second look: nothing that shows so little came back at the third
	minFrameShare  = 0.20  // smallest side over the photo's diagonal
	paperMM        = 0.05  // by which drawn sides are not straight (assumed)
	frameSD        = 0.003 // relative, of what its maker calls its size (assumed)
	maxFrameTilt   = 35    // degrees: beyond it a rectangle of another shape may look the same
	maxSheetCost   = 8.5   // of a sheet's edges: a frame may be drawn on it, a little smaller and much alike
	maxAbsent      = 0.2   // of a side that nothing covers and that is not there
	bareShare      = 0.25  // of the difference between both sides, by which light may differ and count as alike
	maxOpposite    = 0.4   // readings of steps the other way over those of the sheet's own
	hopelessCost   = 700   // of corners before the fit: those of another shape miss by a hundred px and more
	rivalCost      = 4     // by which another rectangle may cost more and still be the one
	rivalScale     = 0.01  // relative, by which its scale differs
	sameFrame      = 0.003 // of the photo's diagonal, by which the corners of one candidate differ from another's
	triedFrames    = 8     // candidates measured at full resolution
	sideSamples    = 40    // places measured along a side
)

// findFrame finds a drawn rectangle, or a sheet of paper, of known size.
func findFrame(p picture, spec Spec, lens Lens) (*Plane, error) {
	segments, err := p.segments(framePixels, false)
	if err != nil {
		return nil, err
	}
	diagonal := math.Hypot(float64(p.width), float64(p.height))
	lines := gather(segments, diagonal)
	pr := priors(lens, p.width, p.height)
	candidates := rectangles(p, lines, diagonal, spec, lens, pr)
	var best *frameFit
	var fits []*frameFit
	var measured []candidate
	for _, c := range candidates {
		if len(measured) == triedFrames {
			break
		}
		if c.among(measured, sameFrame*diagonal) {
			continue
		}
		measured = append(measured, c)
		most := 200.0 // of the priors' cost
		if best != nil {
			most = best.cost + rivalCost
		}
		f := measureFrame(p, spec, lens, pr, c, most)
		if f == nil {
			continue
		}
		fits = append(fits, f)
		if best == nil || f.cost < best.cost {
			best = f
		}
	}
	if best == nil {
		return nil, noRuler("no rectangle of %g x %g mm in the photo; keep all four sides in view, most of each free of pieces, and check the size", spec.WidthMM, spec.HeightMM)
	}
	if err := best.contested(&p, fits, spec); err != nil {
		return nil, err
	}
	if best.patterned(&p, spec, lens) {
		return nil, doubtful("a regular pattern of lines or squares runs within the rectangle of %g x %g mm, which could be any part of it; use --scale grid with the pattern's pitch, or the card", spec.WidthMM, spec.HeightMM)
	}
	return best.plane(p, spec, lens)
}

// frameFit is a rectangle measured at full resolution.
type frameFit struct {
	fit   fitted
	prior prior
	obs   []observation
	cost  float64
	share [4]float64 // of what the photo holds of each side, that was measured
}

// measureFrame reads the four sides where a candidate puts them and fits the view to what it finds;
// nil where too little is found.
func measureFrame(p picture, spec Spec, lens Lens, pr prior, c candidate, most float64) *frameFit {
	f := frameFit{prior: pr}
	f.fit.view = c.start
	diagonal := math.Hypot(float64(p.width), float64(p.height))
	var sides sideReading
	for round := range 3 {
		reach := max(6, 0.0024*diagonal)
		if round == 0 {
			reach = max(10, 0.003*diagonal)
		}
		samples := sideSamples >> (2 - round)
		f.obs, sides = readSides(&p, spec, lens, f.fit.view, reach, samples)
		if len(f.obs) < samples || sides.leastInside() < minInsideShare*float64(samples) {
			return nil
		}
		if round > 0 && (sides.absent > maxAbsent || leastShown(f.obs, sides.inside) < hopelessShare) {
			return nil
		}
		var ok bool
		enough := roughly
		if round == 2 {
			enough = finely
		}
		if f.fit, ok = settle(f.fit.view, f.obs, pr, 4, 0.0012*diagonal, enough); !ok || addedCost(&f.fit.view, pr) > most {
			return nil
		}
	}
	for _, o := range f.obs {
		if !o.dropped {
			f.share[o.mark] += 1 / float64(sides.inside[o.mark])
		}
	}
	shown := slices.Min(f.share[:])
	if shown < minSideShare {
		return nil
	}
	f.cost = addedCost(&f.fit.view, pr) + 8*(1-shown)
	if f.obs[0].spread != 0 && f.cost > maxSheetCost {
		return nil
	}
	return &f
}

// leastShown is the share of the places inside the photo at which the side shows that shows least.
func leastShown(obs []observation, inside [4]int) float64 {
	var n [4]int
	for _, o := range obs {
		n[o.mark]++
	}
	least := 1.0
	for k, shown := range n {
		least = min(least, float64(shown)/float64(inside[k]))
	}
	return least
}

// contested refuses a rectangle where another explains the size nearly as well, but with another scale.
func (f *frameFit) contested(p *picture, fits []*frameFit, spec Spec) error {
	for _, o := range fits {
		apart := math.Abs(o.fit.middleScale(p)/f.fit.middleScale(p) - 1)
		if o.cost < f.cost+rivalCost && apart > rivalScale {
			return doubtful("two rectangles in the photo, such as a frame and the sheet it is drawn on, may be that of %g x %g mm, and their scales differ by %.0f %%; take the photo from straight above and keep its EXIF, cover one of both, or use the card", spec.WidthMM, spec.HeightMM, 100*apart)
		}
	}
	return nil
}

// middleScale is the scale at the photo's middle, mm per px.
func (v *view) middleScale(p *picture) float64 {
	return v.mmPerPx(result.XY{float64(p.width) / 2, float64(p.height) / 2})
}

// addedCost is the priors' part of the cost.
func addedCost(v *view, pr prior) float64 { return totalCost(v, nil, pr) }

// plane states the scale, or why the rectangle does not carry one.
func (f *frameFit) plane(p picture, spec Spec, lens Lens) (*Plane, error) {
	out := finishPlane(p, f.fit, lens, string(Frame), 1)
	// The sides see the lens far from the middle only: what bends them oddly there is not known inside.
	out.scale.RelativeSD = math.Hypot(out.scale.RelativeSD, math.Hypot(frameSD, 0.15*f.fit.p[pK2]))
	for _, s := range f.share {
		if s >= minSideShare {
			out.scale.MarksUsed++
		} else {
			out.scale.MarksDropped++
		}
	}
	side := math.Max(spec.WidthMM, spec.HeightMM) / out.scale.MMPerPx
	switch r := out.scale.ResidualPx; {
	case f.fit.strained(f.prior) || f.fit.offCentre(f.prior) || f.fit.tiltDeg() > maxFrameTilt:
		return nil, doubtful("the rectangle in the photo does not look like one of %g x %g mm seen through a usual lens; check the size, or use the card", spec.WidthMM, spec.HeightMM)
	case r > maxResidual*side:
		return nil, doubtful("the sides of the rectangle are not straight: they miss by %.1f px; lay the sheet flat", r)
	case out.scale.RelativeSD > MaxRelativeSD:
		return nil, doubtful("the scale is known to %.1f %% only (limit %.1f %%); fill the photo with the rectangle", 100*out.scale.RelativeSD, 100*MaxRelativeSD)
	case r > noteResidual*side && r > notePx:
		out.scale.Note = "the sheet seems bent or creased"
	}
	f.describe(out, spec)
	return out, nil
}

// describe adds the marks, the field inside and the sides to leave out.
func (f *frameFit) describe(out *Plane, spec Spec) {
	w, h := spec.WidthMM, spec.HeightMM
	const margin = 1.5 // mm beside the sides
	inner := []result.XY{{margin, margin}, {w - margin, margin}, {w - margin, h - margin}, {margin, h - margin}}
	out.field = out.polygon(inner)
	for _, s := range [][4]float64{{-margin, -margin, w + margin, margin}, {-margin, h - margin, w + margin, h + margin}, {-margin, margin, margin, h - margin}, {w - margin, margin, w + margin, h - margin}} {
		out.exclude = append(out.exclude, out.polygon([]result.XY{{s[0], s[1]}, {s[2], s[1]}, {s[2], s[3]}, {s[0], s[3]}}))
	}
	for _, o := range f.obs {
		out.marks = append(out.marks, Mark{ID: -1, Outline: []result.XY{out.lens.real(o.px)}, Used: !o.dropped})
	}
}
