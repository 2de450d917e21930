package result

// XY is a position, [x, y]; the name of the variable tells its unit.
type XY [2]float64

// Class names what a particle is.
type Class string

// The classes of a particle.
const (
	WholeKernel  Class = "whole_kernel"
	BrokenKernel Class = "broken_kernel"
	Stover       Class = "stover" // stalk, leaf, husk, cob
	Unsure       Class = "unsure"
)

// IsKernel reports whether the class names a kernel or a piece of one.
func (c Class) IsKernel() bool { return c == WholeKernel || c == BrokenKernel }

// Particle is one piece on the tray. Each stage adds to it; none takes away.
type Particle struct {
	ID          int     `json:"id"`
	Class       Class   `json:"class"`
	Probability float64 `json:"probability"` // of the named class, 0..1; what the piece lacks of being one of the crop's at all is taken off
	AtPx        XY      `json:"at_px"`       // centroid of the area as the photo shows it

	// Lengths and areas are of the outline seen from straight above, on the scale of the tray plane.
	LengthMM float64 `json:"length_mm"` // kernel piece: largest Feret diameter; stover: along the centreline (aspect < 1.5: largest Feret)
	WidthMM  float64 `json:"width_mm"`  // kernel piece: smallest Feret diameter; stover: area / length
	AreaMM2  float64 `json:"area_mm2"`

	KernelShare *float64 `json:"kernel_share"` // projected area over the mean unbroken kernel of the lot, 0..1; nil for stover
	CutByEdge   bool     `json:"cut_by_edge"`  // cut by the photo's frame or the tray's edge: not in the size statistics
	OutlinePx   []XY     `json:"outline_px,omitempty"`

	// Beyond the contract.
	PWhole       float64 `json:"p_whole"`  // probability of whole kernel, if of the crop; the three sum to 1
	PBroken      float64 `json:"p_broken"` // of broken kernel
	PStover      float64 `json:"p_stover"` // of stover
	MaxFeretMM   float64 `json:"max_feret_mm"`
	MinFeretMM   float64 `json:"min_feret_mm"`
	PerimeterMM  float64 `json:"perimeter_mm"`
	Solidity     float64 `json:"solidity"` // area over area of the convex hull
	CentreLineMM float64 `json:"centreline_mm"`
	Weight       float64 `json:"weight"` // Miles-Lantuejoul weight, 1 where the whole field is in view

	// ColourLab is the mean CIE L*a*b* of a likely whole kernel, with the photo's white taken as white; nil where no stored kernel was to be
	// compared or the photo shows no white.
	ColourLab *[3]float64 `json:"colour_lab,omitempty"`

	Reviewed bool `json:"reviewed,omitempty"` // a person named it: the class is certain

	OutlineMM []XY `json:"-"` // the outline seen from straight above, mm on the tray plane
}

// PKernel is the probability that the particle is a kernel or a piece of one.
func (p Particle) PKernel() float64 { return p.PWhole + p.PBroken }
