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
	minSideShare   = 0.35  // of a side that must show, once measured
	roughSideShare = 0.30  // the same, in the reduced copy
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
			most = best.cost + 4
		}
		if f := measureFrame(p, spec, lens, pr, c, most); f != nil && (best == nil || f.cost < best.cost) {
			best = f
		}
	}
	if best == nil {
		return nil, noRuler("no rectangle of %g x %g mm in the photo; keep all four sides in view, most of each free of pieces, and check the size", spec.WidthMM, spec.HeightMM)
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
	share [4]float64 // of each side that was measured
}

// measureFrame reads the four sides where a candidate puts them and fits the view to what it finds;
// nil where too little is found.
func measureFrame(p picture, spec Spec, lens Lens, pr prior, c candidate, most float64) *frameFit {
	f := frameFit{prior: pr}
	f.fit.view = c.start
	diagonal := math.Hypot(float64(p.width), float64(p.height))
	for round := range 3 {
		reach := max(6, 0.0024*diagonal)
		if round == 0 {
			reach = max(10, 0.003*diagonal)
		}
		var absent float64
		samples := sideSamples >> (2 - round)
		f.obs, absent = readSides(&p, spec, lens, f.fit.view, reach, samples)
		if round > 0 && absent > maxAbsent {
			return nil
		}
		if len(f.obs) < samples || round > 0 && leastShown(f.obs, samples) < hopelessShare {
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
			f.share[o.mark] += 1.0 / sideSamples
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

// leastShown is the share of places at which the side shows that shows least.
func leastShown(obs []observation, samples int) float64 {
	var n [4]int
	for _, o := range obs {
		n[o.mark]++
	}
	return float64(slices.Min(n[:])) / float64(samples)
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
