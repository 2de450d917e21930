package vision

import "gristmark/internal/result"

// Plane maps between the photo and the tray plane. Package calib provides one.
type Plane interface {
	ToMM(px result.XY) result.XY                                   // photo px to tray plane mm
	ToPx(mm result.XY) result.XY                                   // tray plane mm to photo px
	MMPerPxAt(px result.XY) float64                                // local scale, > 0
	Foot() (foot result.XY, heightMM, heightSDMM float64, ok bool) // point under the camera, mm; camera height
}

// cameraOver is the point of the plane below the camera and the camera's height over it, mm; ok is false where the plane does not know them.
func cameraOver(p Plane) (foot result.XY, heightMM float64, ok bool) {
	foot, heightMM, _, ok = p.Foot()
	return foot, heightMM, ok && heightMM > 0
}

// Show says what lies on the tray. It changes the prior of the classes, not the code path.
type Show string

// What a photo may show.
const (
	ShowKernels Show = "kernels" // kernels washed out of the fodder by the water test
	ShowPieces  Show = "pieces"  // screened or loose fodder
	ShowMixed   Show = "mixed"   // both
)

// Kernel is the crop's unbroken kernel.
type Kernel struct {
	LengthMM    float64 // longest side, tip to crown, > 0
	WidthMM     float64 // across the crown, > 0
	ThicknessMM float64 // lying flat, > 0
}

// DefaultKernel is a dent kernel as measured by Sezer et al. (African Journal of Biotechnology).
func DefaultKernel() Kernel { return Kernel{LengthMM: 10.54, WidthMM: 7.26, ThicknessMM: 4.57} }

// AreaMM2 is the projected area of the unbroken kernel lying flat: a dent kernel's outline fills
// about 0.82 of its length times width, which puts the default inside the 53 to 73 mm² that
// Darfour 2022 (International Journal of Food Properties) reports.
func (k Kernel) AreaMM2() float64 { return 0.82 * k.LengthMM * k.WidthMM }

// Options of Analyse. The zero value is not valid: start from DefaultOptions.
type Options struct {
	Show    Show
	Kernel  Kernel
	Exclude [][]result.XY  // polygons in px in which nothing is counted (card, rim of the mat, rule)
	Field   []result.XY    // polygon in px of the counting field if the ruler defines one, else nil
	Lines   [][2]result.XY // drawn grid lines in px, which are background
	PieceMM float64        // smallest piece that is counted, mm
	KeepAll bool           // keep what is named as nothing of the crop: for fitting the names

	// JudgeCut takes the place of the model of cuts while that is fitted: it gets a cut's features and the outlines, px, of
	// both sides, and returns the probability that they are two pieces.
	JudgeCut func(features []float64, a, b []result.XY) float64

	// ProbeEdge takes the place of the model of edges while that is fitted: it gets the features of a point of an outline, the point, and the
	// way that one pixel of the photo outward takes. The outline stays as it is.
	ProbeEdge func(features []float64, at, outward result.XY)
}

// DefaultOptions counts everything from 0.9 mm up.
func DefaultOptions() Options {
	return Options{Show: ShowMixed, Kernel: DefaultKernel(), PieceMM: 0.9}
}
