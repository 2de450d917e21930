package rulers

import (
	"math"
	"slices"

	"gristmark/calib"
	"gristmark/vision"
)

// Score is what one scene gave.
type Score struct {
	Seed    uint64
	Problem string  // why no scale was found; empty where one was
	Error   float64 // relative, of what was measured: the print, which no photo shows, is given
	True    float64 // relative, with the print and the ruler's thickness in it
	SD      float64 // relative, as stated
	// Of the scale at the upper face of a piece, with the camera's height as stated and the thickness taken as known
	// on the average.
	PieceError, PieceSD float64
	Along               float64   // relative error along a rule, on its own face
	Marks               []float64 // distances of the marks from where they are, px
	TiltDeg             float64
	Note                string
}

// Holds reports whether the 95 % interval of the scale holds the truth.
func (s Score) Holds() bool { return math.Abs(math.Log1p(s.True)) < 1.96*s.SD }

// PieceHolds is the same at the upper face of a piece.
func (s Score) PieceHolds() bool { return math.Abs(math.Log1p(s.PieceError)) < 1.96*s.PieceSD }

// JPEG draws the scene.
func (s Scene) JPEG() ([]byte, error) { return s.pic.jpeg() }

// Measure draws the scene and lets calib find its scale.
func (s Scene) Measure() (Score, error) {
	data, err := s.JPEG()
	if err != nil {
		return Score{}, err
	}
	photo, err := vision.Decode(data, 1)
	if err != nil {
		return Score{}, err
	}
	defer photo.Close()
	plane, err := calib.Find(photo.Mat(), s.Spec, s.Lens)
	if err != nil {
		return Score{Problem: err.Error()}, nil
	}
	return s.score(plane), nil
}

func (s Scene) score(plane *calib.Plane) Score {
	found := plane.Scale()
	truth := s.pic.cam.mmPerPx()
	out := Score{
		True: found.MMPerPx/truth - 1, Error: found.MMPerPx*s.stretch/truth - 1, SD: found.RelativeSD,
		Along: math.NaN(), TiltDeg: found.TiltDeg, Note: found.Note,
	}
	out.piece(s, found.MMPerPx/truth, plane)
	for _, q := range s.marks {
		px := s.lie.px(&s.pic.cam, q)
		if px[0] < 0 || px[1] < 0 || px[0] > float64(s.pic.cam.w) || px[1] > float64(s.pic.cam.h) {
			continue
		}
		out.Marks = append(out.Marks, s.miss(plane, q, px))
	}
	if s.Spec.Kind == calib.Rule {
		out.Along = s.along(plane)
	}
	return out
}

// meanThickness and its s.d. are what measuring takes a kernel's to be, mm.
const meanThickness, thicknessSD = 4.57, 0.7

// piece compares the scale at the upper face of a piece under the camera.
func (o *Score) piece(s Scene, ratio float64, plane *calib.Plane) {
	_, height, sd, ok := plane.Foot()
	if !ok {
		o.PieceSD = math.Inf(1)
		return
	}
	truth := 1 - s.pieceMM/s.pic.cam.eye[2]
	o.PieceError = ratio*(1-meanThickness/height)/truth - 1
	o.PieceSD = math.Sqrt(o.SD*o.SD + sq(thicknessSD/height) + sq(meanThickness*sd/height/height))
}

func sq(x float64) float64 { return x * x }

// miss is how far, in px, the plane puts a mark from where it is. What one photo cannot tell is given: which of its
// lines a grid's frame starts from, and which of its corners a rectangle's.
func (s Scene) miss(plane *calib.Plane, own, px XY) float64 {
	away := func(mm XY) float64 {
		at := plane.ToPx(mm)
		return math.Hypot(at[0]-px[0], at[1]-px[1])
	}
	switch s.Spec.Kind {
	case calib.Grid:
		mm, p := plane.ToMM(px), s.Spec.PitchMM
		return away(XY{p * math.Round(mm[0]/p), p * math.Round(mm[1]/p)})
	case calib.Frame:
		w, h := s.Spec.WidthMM, s.Spec.HeightMM
		return slices.Min([]float64{away(XY{0, 0}), away(XY{w, 0}), away(XY{w, h}), away(XY{0, h})})
	case calib.Rule: // across the rule nothing is known: along it only
		mm, p := plane.ToMM(px), s.Spec.PitchMM
		return away(XY{p * math.Round(mm[0]/p), mm[1]})
	}
	print := 1.0
	if s.Spec.PrintScale != 0 {
		print = s.Spec.PrintScale
	}
	return away(XY{own[0] * print, own[1] * print})
}

// along is the relative error of a length along the rule between two of its ticks in the photo, on the rule's face.
func (s Scene) along(plane *calib.Plane) float64 {
	var seen []XY
	for _, q := range s.marks {
		if px := s.lie.px(&s.pic.cam, q); px[0] > 100 && px[1] > 100 && px[0] < float64(s.pic.cam.w)-100 && px[1] < float64(s.pic.cam.h)-100 {
			seen = append(seen, q)
		}
	}
	if len(seen) < 2 {
		return math.NaN()
	}
	a, b := seen[len(seen)/8], seen[len(seen)-1-len(seen)/8]
	p, q := plane.ToMM(s.lie.px(&s.pic.cam, a)), plane.ToMM(s.lie.px(&s.pic.cam, b))
	return math.Hypot(p[0]-q[0], p[1]-q[1])/(b[0]-a[0]) - 1
}
