package estimate

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// NoPiece is the class of a correction that says: this is no piece of the crop. It is taken out.
const NoPiece result.Class = "none"

// Correction is a person's name for one particle.
type Correction struct {
	Photo string       // its file as in the document, or the last part of that; may be empty where one photo was measured
	ID    int          // of the particle within the photo, from 1
	Class result.Class // WholeKernel, BrokenKernel, Stover or NoPiece
	Line  int          // of the table it came from, for messages; 0: none
}

// CorrectionError says which correction does not fit and why.
type CorrectionError struct {
	Line int // of the table; 0: none
	Why  string
}

func (e CorrectionError) Error() string {
	if e.Line > 0 {
		return fmt.Sprintf("estimate: line %d: %s", e.Line, e.Why)
	}
	return "estimate: " + e.Why
}

// Review gives copies of the photos in which the corrected particles have their class for certain (probability 1, Reviewed set) and
// the length and width that go with it. The photos given are left as they are; Shares and Sample then recompute the sample.
// The error is a CorrectionError: an unknown photo, particle or class, a photo that was refused, a particle named twice.
func Review(photos []result.Photo, corrections []Correction) ([]result.Photo, error) {
	out := slices.Clone(photos)
	for i := range out {
		out[i].Particles = slices.Clone(out[i].Particles)
	}
	named := map[[2]int]int{}
	var gone [][2]int
	for _, c := range corrections {
		at, err := locate(out, c)
		if err != nil {
			return nil, err
		}
		if line, twice := named[at]; twice {
			return nil, CorrectionError{c.Line, fmt.Sprintf("piece %d is named a second time%s; leave one", c.ID, onLine(line))}
		}
		named[at] = c.Line
		if c.Class == NoPiece {
			gone = append(gone, at)
			continue
		}
		certain(&out[at[0]].Particles[at[1]], c.Class)
	}
	slices.SortFunc(gone, func(a, b [2]int) int { return b[1] - a[1] }) // from behind, so that places stay
	for _, at := range gone {
		out[at[0]].Particles = slices.Delete(out[at[0]].Particles, at[1], at[1]+1)
	}
	return out, nil
}

func onLine(line int) string {
	if line == 0 {
		return ""
	}
	return fmt.Sprintf(", after line %d", line)
}

// locate finds the photo and the place in it that the correction speaks of.
func locate(photos []result.Photo, c Correction) (at [2]int, err error) {
	fault := func(format string, args ...any) ([2]int, error) {
		return at, CorrectionError{c.Line, fmt.Sprintf(format, args...)}
	}
	switch c.Class {
	case result.WholeKernel, result.BrokenKernel, result.Stover, NoPiece:
	default:
		return fault("%q is no class; write whole_kernel, broken_kernel, stover, or none for what is no piece of the crop", c.Class)
	}
	i, why := photoOf(photos, c.Photo)
	if why != "" {
		return fault("%s", why)
	}
	p := &photos[i]
	switch {
	case p.Status != result.Measured:
		return fault("%s was refused and has no pieces to name", p.File)
	case p.DuplicateOf != "":
		return fault("%s is a copy of %s; name the pieces of that one", p.File, p.DuplicateOf)
	}
	for k, q := range p.Particles {
		if q.ID == c.ID {
			return [2]int{i, k}, nil
		}
	}
	return fault("%s has no piece %d; its %d pieces go from 1 up, as drawn in the overlay", p.File, c.ID, len(p.Particles))
}

// photoOf finds a photo by its file, or by the last part of that where it is the only one.
func photoOf(photos []result.Photo, name string) (at int, why string) {
	var fits []int
	for i, p := range photos {
		switch {
		case name == "" && p.Status == result.Measured && p.DuplicateOf == "":
			fits = append(fits, i)
		case name != "" && p.File == name:
			return i, ""
		case name != "" && base(p.File) == base(name):
			fits = append(fits, i)
		}
	}
	switch {
	case len(fits) == 1:
		return fits[0], ""
	case name == "":
		return 0, fmt.Sprintf("the photo is not told, and there are %d; add the column photo", len(fits))
	case len(fits) == 0:
		return 0, fmt.Sprintf("there is no photo %q in this sample", name)
	}
	return 0, fmt.Sprintf("%d photos are called %q; give their folder too", len(fits), name)
}

func base(file string) string { return path.Base(strings.ReplaceAll(file, `\`, "/")) }

// certain names the particle and gives it the sizes of its class.
func certain(q *result.Particle, class result.Class) {
	q.Class, q.Probability, q.Reviewed = class, 1, true
	q.PWhole, q.PBroken, q.PStover = 0, 0, 0
	if positive(q.MaxFeretMM) && positive(q.MinFeretMM) {
		q.LengthMM, q.WidthMM = q.MaxFeretMM, q.MinFeretMM
	}
	switch class {
	case result.WholeKernel:
		q.PWhole = 1
	case result.BrokenKernel:
		q.PBroken = 1
	default:
		q.PStover, q.KernelShare = 1, nil
		if positive(q.CentreLineMM) && positive(q.MaxFeretMM) && positive(q.AreaMM2) {
			size := shape.Size{Area: q.AreaMM2, CentreLine: q.CentreLineMM}
			size.MaxFeret.Length, size.MinFeret.Length = q.MaxFeretMM, q.MinFeretMM
			q.LengthMM, q.WidthMM = size.Stover()
		}
	}
}
