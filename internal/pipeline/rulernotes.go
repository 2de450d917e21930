package pipeline

import (
	"fmt"
	"slices"

	"gristmark/calib"
	"gristmark/internal/intake"
)

// rulerNote tells which ruler and which corrections a scale rests on, a sentence each.
type rulerNote struct {
	corrected []string // what was corrected: people hear of it
	taken     []string // what was taken as drawn: the document holds it
}

func (r rulerNote) all() []string { return slices.Concat(r.corrected, r.taken) }

// namedProfile is a profile that can say which of its files fits a photo.
type namedProfile interface {
	NameFor(*intake.Intake) string
}

func rulerNotes(plane *calib.Plane, in *intake.Intake, profile Profile) (out rulerNote) {
	switch sheet, scale, checked := plane.Sheet(); {
	case sheet == "":
	case checked && scale != 1:
		out.corrected = append(out.corrected, fmt.Sprintf("the %s is corrected for its print, %.2f %% of true size", sheet, 100*scale))
	case checked:
		out.taken = append(out.taken, fmt.Sprintf("the %s is printed in true size, as checked", sheet))
	default:
		out.taken = append(out.taken, fmt.Sprintf("the %s is taken as printed in true size; calibrate --printed or --check checks it", sheet))
	}
	if p, ok := profile.(namedProfile); ok {
		if name := p.NameFor(in); name != "" {
			out.corrected = append(out.corrected, "the lens is corrected by the camera profile "+name)
		}
	}
	return out
}

func nonEmpty(s string) []string {
	if s == "" {
		return nil
	}
	return []string{s}
}
