package scene

import (
	"math"

	"gristmark/internal/result"
)

// Truth is what is known of a rendered photo: the content of NAME.truth.json.
type Truth struct {
	Seed     uint64   `json:"seed"`
	Family   string   `json:"family"`
	Settings Settings `json:"settings"`
	Usable   bool     `json:"usable"`
	WidthPx  int      `json:"width_px"`
	HeightPx int      `json:"height_px"`

	MMPerPx    float64     `json:"mm_per_px"`  // at the photo's centre, on the tray plane
	Homography [9]float64  `json:"homography"` // mm on the plane to px, row by row; without the lens's radial term
	Camera     CameraTruth `json:"camera"`
	Sheet      *SheetTruth `json:"sheet"`     // nil without a printed ruler
	TrayKind   string      `json:"tray_kind"` // material or colour
	TrayPx     []XY        `json:"tray_px"`   // inner outline of the tray; may reach beyond the frame
	TrayMM     []XY        `json:"tray_mm"`

	Things []Thing  `json:"things"`
	Others []Other  `json:"others,omitempty"` // in view, neither kernel nor stover
	Scene  Numbers  `json:"scene"`            // of the things in this photo that the frame does not cut
	Lot    Numbers  `json:"lot"`              // of the population
	Kernel KernelMM `json:"kernel"`           // mean unbroken kernel of the lot
}

// KernelMM is the mean unbroken kernel of the lot.
type KernelMM struct {
	LengthMM    float64 `json:"length_mm"`
	WidthMM     float64 `json:"width_mm"`
	ThicknessMM float64 `json:"thickness_mm"`
	AreaMM2     float64 `json:"area_mm2"`
}

// CameraTruth tells where the camera stood.
type CameraTruth struct {
	HeightMM  float64 `json:"height_mm"`
	TiltDeg   float64 `json:"tilt_deg"`
	FootPx    XY      `json:"foot_px"` // the point of the plane straight below
	FootMM    XY      `json:"foot_mm"`
	FocalPx   float64 `json:"focal_px"`
	Focal35MM float64 `json:"focal_35mm"`
	K1        float64 `json:"k1"` // radius grows by 1 + k1 r², r in focal lengths
}

// SheetTruth tells where the printed ruler lies.
type SheetTruth struct {
	Name       string       `json:"name"`
	PrintScale float64      `json:"print_scale"`
	OutlinePx  [4]XY        `json:"outline_px"` // clockwise from the sheet's top left corner
	FieldPx    []XY         `json:"field_px,omitempty"`
	Markers    []MarkerAtPx `json:"markers"`
}

// MarkerAtPx gives a marker's corners in the photo, clockwise from its top left.
type MarkerAtPx struct {
	ID        int   `json:"id"`
	CornersPx [4]XY `json:"corners_px"`
}

// Thing is one particle of the photo. Lengths and areas are those of its outline seen from straight above.
type Thing struct {
	ID    int          `json:"id"` // also its label in the mask
	Class result.Class `json:"class"`
	Kind  string       `json:"kind"` // kernel, straw, stalk, leaf, husk or cob

	AtPx      XY   `json:"at_px"`      // centroid of its whole silhouette in the photo
	OutlinePx []XY `json:"outline_px"` // whole silhouette, also where another piece lies over it; cut at the frame

	LengthMM    float64  `json:"length_mm"`
	WidthMM     float64  `json:"width_mm"`
	AreaMM2     float64  `json:"area_mm2"`
	ThicknessMM float64  `json:"thickness_mm"`
	MaxFeretMM  float64  `json:"max_feret_mm"`
	MinFeretMM  float64  `json:"min_feret_mm"`
	MassMG      float64  `json:"mass_mg"`
	Passes475   bool     `json:"passes_4_75"`
	KernelShare *float64 `json:"kernel_share"` // area over the lot's mean unbroken kernel, at most 1; null for stover
	KeptShare   *float64 `json:"kept_share"`   // area over its own unbroken outline; null for stover
	Box         string   `json:"box"`          // top, middle, lower or pan; empty for kernels

	Touching    bool    `json:"touching"`     // another piece
	Crossing    bool    `json:"crossing"`     // lies over or under another piece
	HiddenShare float64 `json:"hidden_share"` // of the silhouette, by pieces over it
	CutByEdge   bool    `json:"cut_by_edge"`  // by the photo's frame
	OutlineMM   []XY    `json:"outline_mm"`   // seen from straight above, on the plane
}

// Other is a thing in view that is no particle.
type Other struct {
	Kind      string `json:"kind"`
	OutlinePx []XY   `json:"outline_px"`
}

// Numbers are the sample's numbers, plain.
type Numbers struct {
	Kernels *KernelNumbers `json:"kernels"`
	Pieces  *PieceNumbers  `json:"pieces"`
}

// KernelNumbers judges kernel processing: whole by number, passing by mass.
type KernelNumbers struct {
	Whole      int     `json:"whole"`
	Broken     int     `json:"broken"`
	WholePct   float64 `json:"whole_pct"` // of kernel pieces, by number
	Passing475 float64 `json:"passing_4_75_pct"`
	MassMG     float64 `json:"mass_mg"`
	SmallestMM float64 `json:"smallest_counted_mm"`
}

// PieceNumbers of the stover.
type PieceNumbers struct {
	N                int                `json:"n"`
	GeometricMeanMM  float64            `json:"geometric_mean_mm"`
	GeometricSD      float64            `json:"geometric_sd"`
	LengthClassesPct map[string]float64 `json:"length_classes_pct"`
	BoxPct           map[string]float64 `json:"box_pct"` // by mass, as this scene's pieces fell
}

var boxNames = [4]string{"top", "middle", "lower", "pan"}

// number works out the sample numbers of pieces.
func number(lot *Lot, pieces []*piece) Numbers {
	var n Numbers
	var kernels, stover []*piece
	for _, p := range pieces {
		if p.class.IsKernel() {
			kernels = append(kernels, p)
		} else {
			stover = append(stover, p)
		}
	}
	if len(kernels) > 0 {
		n.Kernels = numberKernels(lot, kernels)
	}
	if len(stover) > 0 {
		n.Pieces = numberStover(stover)
	}
	return n
}

func numberKernels(lot *Lot, kernels []*piece) *KernelNumbers {
	k := &KernelNumbers{SmallestMM: lot.KernelMinMM}
	var through float64
	for _, p := range kernels {
		if p.class == result.WholeKernel {
			k.Whole++
		} else {
			k.Broken++
		}
		k.MassMG += p.mass
		if p.passes {
			through += p.mass
		}
	}
	k.WholePct = 100 * float64(k.Whole) / float64(k.Whole+k.Broken)
	k.Passing475 = 100 * through / k.MassMG
	return k
}

func numberStover(stover []*piece) *PieceNumbers {
	n := &PieceNumbers{N: len(stover)}
	var area, sum, mass float64
	class, box := [4]float64{}, [4]float64{}
	for _, p := range stover {
		area += p.area
		sum += p.area * math.Log(p.length)
		mass += p.mass
		box[p.box] += p.mass
		switch {
		case p.length >= 19:
			class[0] += p.area
		case p.length >= 8:
			class[1] += p.area
		case p.length >= 4:
			class[2] += p.area
		default:
			class[3] += p.area
		}
	}
	mean := sum / area
	var spread float64
	for _, p := range stover {
		d := math.Log(p.length) - mean
		spread += p.area * d * d
	}
	n.GeometricMeanMM, n.GeometricSD = math.Exp(mean), math.Exp(math.Sqrt(spread/area))
	n.LengthClassesPct = map[string]float64{"over_19": 100 * class[0] / area, "8_to_19": 100 * class[1] / area, "4_to_8": 100 * class[2] / area, "under_4": 100 * class[3] / area}
	n.BoxPct = map[string]float64{}
	for i, name := range boxNames {
		n.BoxPct[name] = 100 * box[i] / mass
	}
	return n
}

// rounded to a sensible number of digits, for small files.
func rounded(v float64, digits int) float64 {
	k := math.Pow(10, float64(digits))
	return math.Round(v*k) / k
}

func roundedXY(p []XY, digits int) []XY {
	out := make([]XY, len(p))
	for i, q := range p {
		out[i] = XY{rounded(q[0], digits), rounded(q[1], digits)}
	}
	return out
}
