package pipeline

import (
	"fmt"
	"runtime"

	"gristmark/calib"
	"gristmark/internal/advice"
	"gristmark/internal/intake"
	"gristmark/internal/judge"
	"gristmark/internal/kernel"
	"gristmark/internal/kernels"
	"gristmark/internal/lab"
	"gristmark/internal/result"
)

// What a photo may show.
const (
	ShowKernels = "kernels"
	ShowPieces  = "pieces"
	ShowMixed   = "mixed"
)

// Options tell how the photos of a sample are measured and judged. Start from DefaultOptions.
type Options struct {
	Show    string  // kernels, pieces or mixed
	Scale   string  // as --scale: auto, card, mat, grid:…, rule:…, frame:…, or mm per px
	Kernel  Kernel  // the crop's unbroken kernel
	Profile Profile // the camera's; nil: what EXIF says, or nothing

	Prints calib.Prints // how large card and mat came out of the printer, as checked earlier

	Context advice.Context
	Targets advice.TargetSet

	Correction *lab.Correction // to the laboratory, applied before judging; nil: none

	Picture bool // keep a reduced copy of each photo for the overlay
	Colour  bool // measure kernels' colours; where the kernel is a stored one, they are in any case
	Workers int  // photos measured at once, ≥ 1; the results do not depend on it
}

// Kernel is an unbroken kernel of the crop, mm.
type Kernel struct {
	LengthMM    float64 `json:"length_mm"`
	WidthMM     float64 `json:"width_mm"`
	ThicknessMM float64 `json:"thickness_mm"`
	From        string  `json:"from,omitempty"` // given, stored or default

	Name    string  `json:"name,omitempty"`     // of a stored one
	AreaMM2 float64 `json:"area_mm2,omitempty"` // of a stored one, as measured

	Stored *kernels.Stored `json:"stored,omitempty"` // all that is stored of it; nil: none
}

// Judging are the options that judging a measured sample takes.
func (o Options) Judging() judge.Options {
	j := judge.Options{Show: o.Show, Context: o.Context, Targets: o.Targets, Correction: o.Correction}
	switch k := o.Kernel; k.From {
	case "default":
	case "stored":
		j.Kernel = kernel.Unbroken{LengthMM: k.LengthMM, WidthMM: k.WidthMM, ThicknessMM: k.ThicknessMM, AreaMM2: k.AreaMM2, From: "stored kernel " + k.Name, Measured: true}
		j.Stored = k.Stored
	default:
		j.Kernel = kernel.Given(k.LengthMM, k.WidthMM, k.ThicknessMM)
	}
	return j
}

// Profile is a camera profile.
type Profile interface {
	// Lens is the lens for a photo, and whether the profile is of its camera.
	Lens(*intake.Intake) (calib.Lens, bool)
	// Key names the profile's content, for results that are kept.
	Key() string
}

// DefaultKernel is the dent kernel that Sezer et al. (African Journal of Biotechnology) measured.
func DefaultKernel() Kernel {
	return Kernel{LengthMM: 10.54, WidthMM: 7.26, ThicknessMM: 4.57, From: "default"}
}

// DefaultOptions are those of the command line without options.
func DefaultOptions() Options {
	return Options{
		Show: ShowMixed, Scale: "auto", Kernel: DefaultKernel(),
		Targets: advice.DefaultSet(), Workers: DefaultWorkers(),
	}
}

// DefaultWorkers is two photos at once where there are processors for it: a photo of 12 megapixels
// takes up to 600 MB while it is measured.
func DefaultWorkers() int { return min(2, runtime.GOMAXPROCS(0)) }

// Outcome is a measured sample: the document, and for each photo what its overlay shows.
type Outcome struct {
	Document result.Document
	Frames   []*Frame // parallel to Document.Photos

	Uncorrected error // why the correction was refused; the sample stands as from outlines
}

// Refused counts the photos that were refused.
func (o *Outcome) Refused() int {
	n := 0
	for _, p := range o.Document.Photos {
		if p.Status == result.Refused {
			n++
		}
	}
	return n
}

// Assumed lists what the options take for granted, a sentence each.
func (o Options) Assumed() []string {
	var out []string
	if o.Kernel.From == "default" {
		out = append(out, fmt.Sprintf("an unbroken kernel is taken as %g × %g × %g mm (Sezer et al., African Journal of Biotechnology); --kernel tells this crop's",
			o.Kernel.LengthMM, o.Kernel.WidthMM, o.Kernel.ThicknessMM))
	}
	if o.Kernel.From == "stored" {
		out = append(out, o.Kernel.told())
	}
	if o.Show == ShowMixed {
		out = append(out, "the tray is taken to show kernels and stover together; --show kernels or --show pieces tells otherwise")
	}
	if o.Context.State == "" {
		out = append(out, "the chop is taken to be fresh; --state fermented tells otherwise")
	}
	return append(out, "how high pieces stand above the tray, which a photo from above does not show, is judged from their looks as fitted on rendered pieces")
}
