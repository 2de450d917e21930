package calib

import (
	"math"

	"gocv.io/x/gocv"

	"gristmark/calib/card"
	"gristmark/internal/result"
)

// MaxRelativeSD is the largest relative standard deviation of the scale that Find returns; beyond it
// the photo is refused. A plain number of mm per px is taken as given.
const MaxRelativeSD = 0.02

// Relative standard deviations that no fit takes away.
const (
	// PrintSD is of the print of a card or mat that nobody checked: printers told to print at 100 % come out within
	// some half a percent (from memory, common practice). Other prints, fitted to the page, are for the check to find.
	PrintSD = 0.002
	// CheckSD is of a print that was checked: a tenth of a mm read on 100 mm.
	CheckSD = 0.001
	// FloorSD is of flatness and thickness of the ruler (an assumption: 0.2 mm at 250 mm from the camera).
	FloorSD = 0.0008
)

// Find finds the tray plane in a photo: 8 bit BGR, upright, not changed and not kept. Its errors wrap ErrNoRuler,
// ErrDoubtful, ErrConflict or ErrPhoto, and say in a sentence what is wrong and what to do.
func Find(photo gocv.Mat, spec Spec, lens Lens) (*Plane, error) {
	p, err := newPicture(photo)
	if err != nil {
		return nil, err
	}
	switch spec.Kind {
	case Auto, "":
		return findSheet(p, spec, lens, "card", "mat")
	case Card, Mat:
		return findSheet(p, spec, lens, string(spec.Kind))
	case Grid:
		return findGrid(p, spec, lens)
	case Rule:
		return findRule(p, spec, lens)
	case Frame:
		return findFrame(p, spec, lens)
	case Given:
		return givenScale(p, spec, lens)
	}
	return nil, specError("%q is no kind of ruler", spec.Kind)
}

// priors says what is known of the lens before the fit, about a photo of the given size.
func priors(lens Lens, width, height int) prior {
	var pr prior
	diagonal := math.Hypot(float64(width), float64(height))
	hold := func(i int, mean, sd float64) { pr.mean[i], pr.sd[i], pr.held[i] = mean, sd, true }
	switch {
	case lens.FocalPx > 0:
		sd := lens.FocalSD
		if sd == 0 {
			sd = knownFocalSD
		}
		hold(pFocal, math.Log(lens.FocalPx), sd)
	default:
		hold(pFocal, math.Log(Focal35(assumedFocal35MM, width, height)), assumedFocalSD)
	}
	hold(pCX, float64(width)/2, 0.006*diagonal)
	hold(pCY, float64(height)/2, 0.006*diagonal)
	hold(pK1, 0, 0.03)
	hold(pK2, 0, 0.015)
	hold(pSpread, 0, 0.5)
	if lens.Profiled {
		sd := lens.CentreOffsetSDPx
		if sd == 0 {
			sd = 10
		}
		hold(pCX, lens.CentreXPx, sd)
		hold(pCY, lens.CentreYPx, sd)
		hold(pK1, 0, 0.002)
		hold(pK2, 0, 0.001)
	}
	return pr
}

// cropped loosens the priors for a photo that is a part of a larger one: its middle is not the
// lens's, and the focal length of its header is of another size.
func cropped(pr prior, width, height int) prior {
	diagonal := math.Hypot(float64(width), float64(height))
	pr.sd[pCX], pr.sd[pCY] = 0.15*diagonal, 0.15*diagonal
	pr.mean[pFocal] += 0.2
	pr.sd[pFocal] = 0.5
	return pr
}

// startView is a view from a homography, with the priors' means for all else.
func startView(h [9]float64, pr prior, width, height int) (view, bool) {
	v := view{radii: math.Hypot(float64(width), float64(height)) / 2}
	v.p = pr.mean
	rot, move, ok := pose(h, math.Exp(pr.mean[pFocal]), result.XY{pr.mean[pCX], pr.mean[pCY]})
	if !ok {
		return v, false
	}
	copy(v.p[pRotX:], rot[:])
	copy(v.p[pMoveX:], move[:])
	v.set()
	return v, true
}

// finishPlane states scale, tilt and height with their uncertainty.
func finishPlane(p picture, f fitted, lens Lens, from string, unitMM float64) *Plane {
	out := &Plane{fit: f, lens: lens, unitMM: unitMM}
	centre := result.XY{float64(p.width) / 2, float64(p.height) / 2}
	ideal := lens.ideal(centre)
	mm := out.MMPerPxAt(centre)
	sd := f.sdOf(func(v *view) float64 { return math.Log(v.mmPerPx(ideal)) })
	foot, height := f.view.foot()
	out.foot = result.XY{foot[0] * unitMM, foot[1] * unitMM}
	out.height = height * unitMM
	out.heightS = unitMM * f.sdOf(func(v *view) float64 { _, h := v.foot(); return h })
	out.hasFoot = true
	out.scale = result.Scale{
		From: from, MMPerPx: mm, RelativeSD: math.Hypot(sd, FloorSD),
		ResidualPx: f.rms, TiltDeg: f.tiltDeg(),
		CameraMM: out.height, CameraSDMM: out.heightS,
	}
	return out
}

// givenScale is a plane square to the camera with the stated scale.
func givenScale(p picture, spec Spec, lens Lens) (*Plane, error) {
	pr := priors(lens, p.width, p.height)
	f := fitted{view: view{p: pr.mean, radii: math.Hypot(float64(p.width), float64(p.height)) / 2}, sigma: 1}
	focal := math.Exp(pr.mean[pFocal])
	f.p[pMoveZ] = spec.MMPerPx * focal
	f.view.set()
	sd := spec.GivenSD
	if sd == 0 {
		sd = AssumedGivenSD
	}
	out := &Plane{fit: f, lens: lens, unitMM: 1}
	_, out.height = f.view.foot()
	out.heightS = out.height * math.Hypot(pr.sd[pFocal], sd)
	out.hasFoot = true
	out.scale = result.Scale{
		From: string(Given), MMPerPx: spec.MMPerPx, RelativeSD: sd,
		CameraMM: out.height, CameraSDMM: out.heightS,
		Note: "the scale is as given; tilt is not known and taken as none",
	}
	return out, nil
}

// sheetName is what a sheet is called in Scale.From.
func sheetName(s card.Sheet) string {
	if s.HasField() {
		return string(Mat)
	}
	return string(Card)
}
