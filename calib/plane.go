package calib

import (
	"math"

	"gristmark/internal/result"
)

// Mark is a mark of a ruler as seen in the photo.
type Mark struct {
	ID      int         // marker id, else -1
	Outline []result.XY // px; a single point for a tick or a crossing
	Used    bool        // false: thrown out
}

// Plane is the tray plane as a photo shows it. It is not safe for concurrent changes, and never
// changes once Find has returned it.
type Plane struct {
	fit     fitted
	lens    Lens
	scale   result.Scale
	exclude [][]result.XY
	field   []result.XY
	marks   []Mark
	foot    result.XY
	height  float64
	heightS float64
	hasFoot bool
	unitMM  float64 // mm of the plane per unit of the fit: the print scale
	sheet   string  // name of the card or mat, empty for another ruler

	printKnown bool // whether anybody checked the print
}

// Sheet names the card or mat that gave the scale ("card", "mat-a4", "mat-a3"), its printed length over
// the nominal one, and whether that was checked; the name is empty for other rulers.
func (p *Plane) Sheet() (name string, printScale float64, checked bool) {
	return p.sheet, p.unitMM, p.printKnown
}

// ToMM maps a px of the photo to mm on the tray plane, in the ruler's own frame.
func (p *Plane) ToMM(px result.XY) result.XY {
	mm := p.fit.toMM(p.lens.ideal(px))
	return result.XY{mm[0] * p.unitMM, mm[1] * p.unitMM}
}

// ToPx maps mm on the tray plane to a px of the photo.
func (p *Plane) ToPx(mm result.XY) result.XY {
	return p.lens.real(p.fit.toPx(result.XY{mm[0] / p.unitMM, mm[1] / p.unitMM}))
}

// MMPerPxAt is the root of the area scale at a px, mm.
func (p *Plane) MMPerPxAt(px result.XY) float64 {
	const e = 0.5
	a, b := p.ToMM(result.XY{px[0] - e, px[1]}), p.ToMM(result.XY{px[0] + e, px[1]})
	c, d := p.ToMM(result.XY{px[0], px[1] - e}), p.ToMM(result.XY{px[0], px[1] + e})
	return math.Sqrt(math.Abs(cross(sub(b, a), sub(d, c))))
}

// Foot is the point of the plane under the camera, mm, the camera's height over it and the height's
// standard deviation; ok is false where the photo tells nothing of it.
func (p *Plane) Foot() (foot result.XY, heightMM, heightSDMM float64, ok bool) {
	return p.foot, p.height, p.heightS, p.hasFoot
}

// Scale tells how millimetres were found.
func (p *Plane) Scale() result.Scale { return p.scale }

// Exclude gives polygons in px where the rulers lie: nothing is counted there.
func (p *Plane) Exclude() [][]result.XY { return p.exclude }

// Field gives the counting field in px if the ruler defines one (the mat's inside, the frame's
// inside), else nil.
func (p *Plane) Field() []result.XY { return p.field }

// Marks gives the marks that were used and those that were thrown out.
func (p *Plane) Marks() []Mark { return p.marks }

// polygon maps a polygon in mm to px, each side in pieces so that the lens may bend it.
func (p *Plane) polygon(mm []result.XY) []result.XY {
	const pieces = 8
	var out []result.XY
	for i, a := range mm {
		b := mm[(i+1)%len(mm)]
		for k := range pieces {
			out = append(out, p.ToPx(add(a, sub(b, a), float64(k)/pieces)))
		}
	}
	return out
}
