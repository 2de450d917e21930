package kernel

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Model is the thickness, mass and passage model of the package comment.
type Model struct {
	Kernel      Unbroken
	DensityGCM3 float64 // g/cm3
	MeshMM      float64 // side of the square mesh

	// Doubts, shared by all pieces of a sample, in standard deviations; 0 unless an interval moves them.
	Upright   float64 // how far breaks stand upright: thicker, sharper, fuller pieces
	Thickness float64 // how thick this lot's kernels and pieces are
	Blunt     float64 // how far small pieces are blunt lumps, not splinters
}

// Standard deviations of the doubts.
const (
	uprightCorner    = -0.08 // of the corner exponent
	uprightThickness = 0.04  // relative
	uprightForm      = 0.04  // relative
	thicknessSD      = 0.03  // relative
	bluntForm        = 0.14  // relative, of a piece of no area; less the more of the kernel is left
)

const (
	corner             = 1.5
	wholeThicknessSDMM = 0.7
	brokenThicknessSD  = 0.28 // relative, from piece to piece
	wholeForm          = 0.75
)

// NewModel is the model without any doubt for a lot's unbroken kernel.
func NewModel(u Unbroken) Model {
	return Model{Kernel: u, DensityGCM3: 1.258, MeshMM: 4.75}
}

// ThicknessOf is the mean and standard deviation in mm of a piece with the given smallest Feret diameter.
func (m Model) ThicknessOf(widthMM float64, whole bool) (mean, sd float64) {
	t := m.Kernel.ThicknessMM * math.Exp(thicknessSD*m.Thickness)
	if whole {
		return t, wholeThicknessSDMM / 4.57 * t
	}
	u := widthMM / t
	mean = widthMM * (0.59 + 0.10*min(u, 1)) * math.Pow(1+math.Pow(u/1.8, 5), -1./5)
	mean *= math.Exp(uprightThickness*m.Upright + thicknessSD*m.Thickness)
	return mean, brokenThicknessSD * mean
}

// MassMG is the expected mass of a piece in mg.
func (m Model) MassMG(widthMM, areaMM2 float64, whole bool) float64 {
	t, _ := m.ThicknessOf(widthMM, whole)
	return m.DensityGCM3 * areaMM2 * t * m.form(areaMM2, whole)
}

func (m Model) form(areaMM2 float64, whole bool) float64 {
	if whole {
		return wholeForm
	}
	a := m.Kernel.Share(areaMM2)
	return math.Exp(uprightForm*m.Upright+bluntForm*m.Blunt*(1-a)) * (0.66 + 0.11*a)
}

// Corner is the exponent q of the passage rule, within 1..2.
func (m Model) Corner() float64 { return min(max(corner+uprightCorner*m.Upright, 1), 2) }

// Thickest is the greatest thickness in mm with which a section of the given width passes the mesh: +Inf where the width
// alone fits, 0 where none does.
func (m Model) Thickest(widthMM float64) float64 {
	if widthMM <= m.MeshMM {
		return math.Inf(1)
	}
	q := m.Corner()
	room := math.Pow(math.Sqrt2*m.MeshMM, q) - math.Pow(widthMM, q)
	if room <= 0 {
		return 0
	}
	return math.Pow(room, 1/q)
}

// PassProbability is the chance that the piece passes the mesh.
func (m Model) PassProbability(widthMM float64, whole bool) float64 {
	limit := m.Thickest(widthMM)
	if math.IsInf(limit, 1) {
		return 1
	}
	t, sd := m.ThicknessOf(widthMM, whole)
	return distuv.UnitNormal.CDF((limit - t) / sd)
}

// PassingShare is the share of the piece's expected mass that passes, 0..1: lower than PassProbability, as thick pieces
// weigh more and pass less.
func (m Model) PassingShare(widthMM float64, whole bool) float64 {
	limit := m.Thickest(widthMM)
	if math.IsInf(limit, 1) {
		return 1
	}
	if limit <= 0 {
		return 0
	}
	t, sd := m.ThicknessOf(widthMM, whole)
	z := (limit - t) / sd
	return min(max(distuv.UnitNormal.CDF(z)-sd/t*distuv.UnitNormal.Prob(z), 0), 1)
}
