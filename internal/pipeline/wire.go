package pipeline

import (
	"errors"
	"slices"
	"strings"

	"gristmark/calib"
	"gristmark/internal/intake"
	"gristmark/internal/judge"
	"gristmark/internal/result"
	"gristmark/vision"
)

// Default are the program's own stages; version goes into the document.
func Default(version string) Stages {
	return Stages{Version: version, Measure: measurePhoto, Estimate: estimateSample}
}

// measurePhoto finds the scale and the particles of one photo.
func measurePhoto(in *intake.Intake, opt Options) (*Frame, error) {
	spec, err := calib.ParseSpec(opt.Scale)
	if err != nil {
		return nil, err
	}
	spec.Prints = opt.Prints
	f := &Frame{}
	photo, err := decode(in)
	if err != nil {
		refuse(&f.Photo, sentence(err))
		return f, nil
	}
	defer photo.Close()
	if cutInside(in, photo) {
		refuse(&f.Photo, string(intake.Truncated(in.Format)))
		return f, nil
	}
	if opt.Picture {
		if f.Picture, err = reducedPicture(photo); err != nil {
			return nil, err
		}
	}
	plane, err := calib.Find(photo.Mat(), spec, lensOf(in, opt.Profile))
	if err != nil {
		refuse(&f.Photo, sentence(err))
		return f, nil
	}
	f.takePlane(plane, photo.Width(), photo.Height())
	rulers := rulerNotes(plane, in, opt.Profile)
	f.Photo.Scale.Note = strings.Join(append(rulers.all(), nonEmpty(f.Photo.Scale.Note)...), "; ")
	relit, err := balance(photo, plane)
	if err != nil {
		return nil, err
	}
	a, err := vision.Analyse(photo, plane, visionOptions(plane, spec, opt, photo.Width(), photo.Height()))
	if err != nil {
		return nil, err
	}
	f.takeAnalysis(a)
	if opt.Colour || opt.Kernel.Stored != nil {
		if err := f.colour(photo, plane); err != nil {
			return nil, err
		}
	}
	f.Notes = slices.Concat(f.Notes, rulers.corrected, nonEmpty(relit))
	return f, nil
}

func decode(in *intake.Intake) (*vision.Photo, error) {
	if in.Image != nil {
		defer func() { in.Image = nil }() // some 100 MB that nobody needs any more
		return vision.FromImage(in.Image, in.Orientation)
	}
	return vision.Decode(in.Bytes, in.Orientation)
}

// lensOf is what is known of the camera: its profile, else EXIF's focal length, else nothing.
func lensOf(in *intake.Intake, profile Profile) calib.Lens {
	if profile != nil {
		if lens, ok := profile.Lens(in); ok {
			return lens
		}
	}
	if in.Focal35MM == 0 {
		return calib.Lens{}
	}
	return calib.Lens{FocalPx: calib.Focal35(in.Focal35MM, in.WidthPx, in.HeightPx)}
}

func visionOptions(plane *calib.Plane, spec calib.Spec, opt Options, width, height int) vision.Options {
	v := vision.DefaultOptions()
	v.Show = vision.Show(opt.Show)
	v.Kernel = vision.Kernel{LengthMM: opt.Kernel.LengthMM, WidthMM: opt.Kernel.WidthMM, ThicknessMM: opt.Kernel.ThicknessMM}
	v.Exclude, v.Field, v.Lines = plane.Exclude(), plane.Field(), matLines(asDrawn(plane), plane.Marks())
	if spec.Kind == calib.Grid {
		v.Lines = gridLines(plane, plane.Marks(), spec.PitchMM)
	}
	if v.Field != nil {
		v.Exclude = append(slices.Clone(v.Exclude), around(v.Field, width, height))
	}
	return v
}

// around is the photo without the field, as one polygon with a seam: what lies beyond the rim of a mat, be it as
// plain as the mat, tells nothing of the ground under the pieces.
func around(field []result.XY, width, height int) []result.XY {
	w, h := float64(width), float64(height)
	ring := []result.XY{{0, 0}, {w, 0}, {w, h}, {0, h}, {0, 0}}
	return append(append(ring, field...), field[0])
}

// takePlane notes the scale and what the overlay shows of it.
func (f *Frame) takePlane(plane *calib.Plane, width, height int) {
	scale := plane.Scale()
	f.Photo.Scale = &scale
	for _, m := range plane.Marks() {
		f.Marks = append(f.Marks, Mark{OutlinePx: m.Outline, Used: m.Used})
	}
	origin := result.XY{}
	if mat, ok := matOf(asDrawn(plane), plane.Marks()); ok {
		_, print, _ := plane.Sheet()
		origin = result.XY{mat.FieldMM[0] * print, mat.FieldMM[1] * print} // so that the printed lines are met
	}
	f.Grid, f.GridMM = planeGrid(plane, origin, width, height)
}

func (f *Frame) takeAnalysis(a *vision.Analysis) {
	p := &f.Photo
	p.Status, p.Checks, p.Particles = result.Measured, a.Checks, a.Particles
	p.Field, p.FieldMM2 = a.Field, a.FieldMM2
	f.Notes = a.Notes
	if a.Problem != "" {
		refuse(p, a.Problem)
	}
}

// estimateSample sets the particles' kernel shares too, which depend on the lot.
func estimateSample(photos []result.Photo, opt Options) result.Sample {
	if s := judge.Estimate(photos, opt.Judging()); s != nil {
		return *s
	}
	return result.Sample{}
}

// sentence is an error as the document tells it: without the package's name in front.
func sentence(err error) string {
	text := err.Error()
	for _, prefix := range []string{"calib: ", "vision: ", "intake: "} {
		text = strings.TrimPrefix(text, prefix)
	}
	if errors.Is(err, calib.ErrNoRuler) && !strings.Contains(text, "--scale") {
		text += "; put the card beside the pieces, or say with --scale what else shows the scale"
	}
	return text
}
