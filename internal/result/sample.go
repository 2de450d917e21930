package result

// Estimate is a number with its interval. An absent estimate is a nil pointer, never 0.
type Estimate struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
	Level float64 `json:"level"` // coverage of Low..High, 0.95
}

// Sample is what all measured photos of one sample say together.
type Sample struct {
	State   string   `json:"state,omitempty"` // of the crop, fresh or fermented; empty: not told, taken as fresh
	Kernels *Kernels `json:"kernels"`
	Pieces  *Pieces  `json:"pieces"`
	Verdict Verdict  `json:"verdict"`
	Advice  []Advice `json:"advice"`
	Notes   []string `json:"notes,omitempty"` // corrections and doubts, a sentence each
}

// Kernels is the judgement of kernel processing.
type Kernels struct {
	Whole         int       `json:"whole"`  // pieces named whole_kernel
	Broken        int       `json:"broken"` // pieces named broken_kernel
	WholePct      *Estimate `json:"whole_pct"`
	Passing475Pct *Estimate `json:"passing_4_75_pct"` // share of kernel mass through a square mesh of 4.75 mm
	SmallestMM    float64   `json:"smallest_counted_mm"`

	UnbrokenAreaMM2 float64 `json:"unbroken_area_mm2,omitempty"` // mean projected area of an unbroken kernel used for kernel_share
	UnbrokenFrom    string  `json:"unbroken_from,omitempty"`     // sample, given, or default
	Basis           string  `json:"basis,omitempty"`             // e.g. "from outlines, not corrected to a laboratory"

	Outlines475Pct *Estimate `json:"passing_4_75_pct_outlines,omitempty"` // the estimate from outlines where Passing475Pct was corrected to a laboratory
}

// Pieces is the judgement of chop length: stover only.
type Pieces struct {
	N                int            `json:"n"`
	GeometricMeanMM  *Estimate      `json:"geometric_mean_mm"` // of length, weighted by area
	GeometricSD      *float64       `json:"geometric_sd"`
	LengthClassesPct *LengthClasses `json:"length_classes_pct"`
	BoxPct           *BoxShares     `json:"box_pct"`
}

// LengthClasses are shares of stover area by length, in percent; they sum to 100.
type LengthClasses struct {
	Over19 float64 `json:"over_19"`
	From8  float64 `json:"8_to_19"`
	From4  float64 `json:"4_to_8"`
	Under4 float64 `json:"under_4"`
}

// BoxShares is the modelled content of the 19, 8, 4 mm sieve box in percent of mass.
type BoxShares struct {
	Top    Estimate `json:"top"`
	Middle Estimate `json:"middle"`
	Lower  Estimate `json:"lower"`
	Pan    Estimate `json:"pan"`
}

// Judgements against a target.
const (
	OnTarget      = "on_target"
	ShortOfTarget = "short_of_target"
	OverTarget    = "over_target"
	Undecided     = "undecided" // the interval straddles the line
)

// Verdict holds the sample against its targets; nil where there is nothing to judge.
type Verdict struct {
	Kernels *string `json:"kernels"`
	Pieces  *string `json:"pieces"`
	Targets string  `json:"targets"` // name of the target set
}

// Advice is one change worth making.
type Advice struct {
	Do      string `json:"do"`
	Why     string `json:"why"`
	Check   string `json:"check,omitempty"` // how to see whether it worked
	Caution string `json:"caution"`
}
