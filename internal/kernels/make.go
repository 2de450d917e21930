package kernels

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// What the photos of unbroken kernels must show.
const (
	Enough     = 12   // whole kernels; about twenty are asked for
	speckShare = 0.06 // of the middle kernel's area; what is smaller is dust
	brokenPart = 0.55 // of the same; what is smaller is a broken kernel, whatever it looks like
	twinShare  = 1.6  // of the same; what is larger are two that touch
	mostBroken = 0.15 // of the kernels
	mostOther  = 0.15 // of the pieces
	mostTwins  = 0.1  // of the pieces
	directions = 24   // of the outline
)

// Sorted is what the pieces of the photos are taken for.
type Sorted struct {
	Whole, Broken, Other, Twins []Piece
	Cut                         int // pieces cut by an edge, left out
}

// Piece is a particle of one of the photos.
type Piece struct {
	Photo int // index
	result.Particle
}

// Sort sorts the pieces of photos of unbroken kernels. What the photo calls unsure is whole when it is as large as the others.
func Sort(photos []result.Photo) Sorted {
	var s Sorted
	var all []Piece
	var areas []float64
	for i, p := range photos {
		if p.Status != result.Measured || p.DuplicateOf != "" || p.SameSpreadAs != "" {
			continue
		}
		for _, q := range p.Particles {
			if q.CutByEdge {
				s.Cut++
				continue
			}
			all = append(all, Piece{i, q})
			areas = append(areas, q.AreaMM2)
		}
	}
	middle := middleArea(areas)
	for _, q := range all {
		share := q.AreaMM2 / middle
		switch {
		case share < speckShare:
		case q.Class == result.Stover || q.Class == result.Unsure && q.PStover > 0.5:
			s.Other = append(s.Other, q)
		case share > twinShare:
			s.Twins = append(s.Twins, q)
		case q.Class == result.BrokenKernel || share < brokenPart:
			s.Broken = append(s.Broken, q)
		default:
			s.Whole = append(s.Whole, q)
		}
	}
	return s
}

// middleArea is the median weighted by area, which dust does not move.
func middleArea(areas []float64) float64 {
	areas = slices.Sorted(slices.Values(areas))
	total, run := 0.0, 0.0
	for _, a := range areas {
		total += a
	}
	for _, a := range areas {
		if run += a; run >= total/2 {
			return a
		}
	}
	return 0
}

// refuse says why the pieces do not make a kernel; nil where they do.
func (s Sorted) refuse() error {
	whole, broken, other, twins := len(s.Whole), len(s.Broken), len(s.Other), len(s.Twins)
	kernels := whole + broken
	pieces := float64(kernels + other + twins)
	switch {
	case pieces == 0:
		return fmt.Errorf("kernels: there is no kernel in the photo; lay out some 20 unbroken ones, apart")
	case float64(other) > mostOther*pieces && middleWidth(s.Other) > mostWidthMM:
		return fmt.Errorf("kernels: %d of %.0f pieces are no kernels, most of them wider than %.0f mm, as maize kernels never are (%s); check the ruler, and lay out kernels alone",
			other, pieces, mostWidthMM, places(s.Other))
	case float64(other) > mostOther*pieces:
		return fmt.Errorf("kernels: %d of %.0f pieces are no kernels (%s); lay out kernels alone", other, pieces, places(s.Other))
	case float64(broken) > mostBroken*float64(kernels):
		return fmt.Errorf("kernels: %d of %d kernels look broken (%s); take them out and lay out some 20 unbroken ones", broken, kernels, places(s.Broken))
	case float64(twins) > mostTwins*pieces:
		return fmt.Errorf("kernels: %d pieces are far larger than the others (%s): lay the kernels apart, none touching another", twins, places(s.Twins))
	case whole < Enough:
		return fmt.Errorf("kernels: only %d whole kernels; it takes %d, and some 20 are better", whole, Enough)
	}
	return nil
}

// middleWidth is the median of the pieces' widths, mm.
func middleWidth(list []Piece) float64 {
	var widths []float64
	for _, q := range list {
		widths = append(widths, q.MinFeretMM)
	}
	slices.Sort(widths)
	return widths[len(widths)/2]
}

// places tells where the first few pieces lie.
func places(list []Piece) string {
	var out []string
	for i, q := range list {
		if i == 3 {
			return strings.Join(out, ", ") + ", …"
		}
		out = append(out, fmt.Sprintf("number %d at %.0f, %.0f px", q.ID, q.AtPx[0], q.AtPx[1]))
	}
	return strings.Join(out, ", ")
}

// Make is the stored kernel of the photos' whole kernels. colour tells a kernel's L*a*b*, or false where its picture is not at hand. The error says
// why the photos are refused: too few whole kernels, too many broken, other pieces, kernels that touch, or sizes that no lot has.
func Make(name string, photos []result.Photo, colour func(Piece) ([3]float64, bool)) (Stored, Sorted, error) {
	s := Stored{Schema: Schema, Name: name}
	if err := CheckName(name); err != nil {
		return s, Sorted{}, err
	}
	sorted := Sort(photos)
	if err := sorted.refuse(); err != nil {
		return s, sorted, err
	}
	s.N = len(sorted.Whole)
	s.describe(photos, sorted.Whole)
	get := func(of func(Piece) float64) Spread { return spreadOf(sorted.Whole, of) }
	s.LengthMM = get(func(q Piece) float64 { return q.MaxFeretMM })
	s.WidthMM = get(func(q Piece) float64 { return q.MinFeretMM })
	s.AreaMM2 = get(func(q Piece) float64 { return q.AreaMM2 })
	s.ThicknessMM = round(thicknessOverWidth * s.WidthMM.Mean)
	s.ThicknessFrom = fmt.Sprintf("assumed, %.2f of the width as Sezer et al. (African Journal of Biotechnology) measured; a photo from above does not show it", thicknessOverWidth)
	s.Outline = meanOutline(sorted.Whole)
	s.Colour = meanColour(sorted.Whole, colour)
	s.OnWhite = meanColour(sorted.Whole, func(q Piece) (lab [3]float64, ok bool) {
		if q.ColourLab == nil {
			return lab, false
		}
		return *q.ColourLab, true
	})
	if s.OnWhite != nil {
		s.WhiteFrom = whiteFrom(photos)
	}
	return s, sorted, s.plausible()
}

// describe tells of the photos that kernels were taken from.
func (s *Stored) describe(photos []result.Photo, whole []Piece) {
	for i, p := range photos {
		if !slices.ContainsFunc(whole, func(q Piece) bool { return q.Photo == i }) {
			continue
		}
		s.Photos = append(s.Photos, filepath.Base(p.File))
		if s.TakenAt == "" && p.TakenAt != nil {
			s.TakenAt = *p.TakenAt
		}
		if s.Ruler == "" && p.Scale != nil {
			s.Ruler = p.Scale.From
		}
	}
}

// whiteFrom tells what the first photo that shows a white takes it from.
func whiteFrom(photos []result.Photo) string {
	for _, p := range photos {
		if p.White != nil {
			return p.White.From
		}
	}
	return ""
}

func spreadOf(list []Piece, of func(Piece) float64) Spread {
	values := make([]float64, len(list))
	for i, q := range list {
		values[i] = of(q)
	}
	return spread(values)
}

func spread(values []float64) Spread {
	var sum, square float64
	for _, v := range values {
		sum += v
	}
	n := float64(len(values))
	mean := sum / n
	for _, v := range values {
		square += (v - mean) * (v - mean)
	}
	return Spread{round(mean), round(math.Sqrt(square / math.Max(1, n-1)))}
}

// round to a thousandth: below what a photo resolves.
func round(v float64) float64 { return math.Round(1000*v) / 1000 }

// meanOutline is the mean radial profile over half a turn from the crown to the tip; both sides of a kernel count alike.
func meanOutline(list []Piece) []Spread {
	radii := make([][]float64, directions/2+1)
	for _, q := range list {
		for k, r := range Profile(q.OutlineMM) {
			radii[k] = append(radii[k], r)
		}
	}
	var out []Spread
	for _, r := range radii {
		if len(r) > 0 {
			out = append(out, spread(r))
		}
	}
	return out
}

// Profile is an outline's radius from its centroid at 0 to 180 degrees from the crown, the blunter end of its longest diameter, over the radius of
// the circle of equal area; both sides are averaged. Nil for fewer than three points.
func Profile(outline []result.XY) []float64 {
	if len(outline) < 3 {
		return nil
	}
	area := math.Abs(shape.Area(outline))
	c, angle := shape.Centroid(outline), shape.MaxFeret(outline).Angle
	sin, cos := math.Sincos(-angle)
	turned := make([]result.XY, len(outline))
	for i, p := range outline {
		x, y := p[0]-c[0], p[1]-c[1]
		turned[i] = result.XY{x*cos - y*sin, x*sin + y*cos}
	}
	r := shape.RadialProfile(turned, directions)
	if r[0] > r[directions/2] { // the centroid lies nearer to the crown
		r = append(r[directions/2:], r[:directions/2]...)
	}
	unit := math.Sqrt(area / math.Pi)
	out := make([]float64, directions/2+1)
	for k := range out {
		out[k] = (r[k] + r[(directions-k)%directions]) / 2 / unit
	}
	return out
}

func meanColour(list []Piece, colour func(Piece) ([3]float64, bool)) *Colour {
	var values [3][]float64
	for _, q := range list {
		if lab, ok := colour(q); ok {
			for k, v := range lab {
				values[k] = append(values[k], v)
			}
		}
	}
	if len(values[0]) < 2 {
		return nil
	}
	return &Colour{spread(values[0]), spread(values[1]), spread(values[2])}
}
