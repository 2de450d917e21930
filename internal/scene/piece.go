package scene

import (
	"math"
	"math/rand/v2"

	"gristmark/internal/result"
)

// Kinds of pieces, finer than the classes.
const (
	kindKernel = "kernel"
	kindStraw  = "straw"
	kindStalk  = "stalk"
	kindLeaf   = "leaf"
	kindHusk   = "husk"
	kindCob    = "cob"
)

// piece is one particle: what is measured of it, and where it lies.
type piece struct {
	class    result.Class
	kind     string
	grain    *grain
	outline  []XY // local frame, centroid at the origin
	fracture []bool

	length, width, area, thick float64
	maxFeret, minFeret         float64
	share, kept                float64 // of the lot's mean unbroken kernel; of its own
	mass                       float64 // mg
	passes                     bool
	box                        int // 0 top, 1 middle, 2 lower, 3 pan

	centreline []XY
	seed       uint64

	pos      XY // of the local origin on the plane
	cos, sin float64
	base     float64 // height of what it lies on
	touching bool
	crossing bool
	solid    *solid
	fine     bool // thinner than a pixel: sampled finely everywhere
}

// world turns a local point into the plane.
func (p *piece) world(q XY) XY { return add(p.pos, rotate(q, p.cos, p.sin)) }

// local turns a point of the plane into the piece's frame.
func (p *piece) local(q XY) XY { return rotate(sub(q, p.pos), p.cos, -p.sin) }

func (p *piece) worldOutline() []XY {
	out := make([]XY, len(p.outline))
	for i, q := range p.outline {
		out[i] = p.world(q)
	}
	return out
}

func (p *piece) reach() float64 {
	r := 0.0
	for _, q := range p.outline {
		r = math.Max(r, math.Hypot(q[0], q[1]))
	}
	return r
}

// Densities, g/cm³. Kernel: 1.258, US maize quality report 2016/17. Stover, fresh and crushed: from memory.
var density = map[string]float64{kindKernel: 1.258, kindStraw: 0.8, kindStalk: 0.45, kindLeaf: 0.65, kindHusk: 0.5, kindCob: 0.45}

// roundedVolume of a plate of thickness t whose edge is rounded by quarter ellipses of depth r: the plate less
// the corner band, to second order in r (Steiner).
func roundedVolume(area, perim, t, r float64) float64 {
	return t * math.Max(0.3*area, area-perim*r*(1-math.Pi/4)+2*math.Pi*r*r*(5.0/6-math.Pi/4))
}

// newKernelPiece draws a kernel piece and measures it. meanArea is that of the lot's unbroken kernels, mm².
func newKernelPiece(lot *Lot, meanArea float64, g *rand.Rand) *piece {
	k := drawKernelPiece(lot, g)
	p := &piece{kind: kindKernel, grain: &k, fracture: k.fracture, thick: k.t, kept: k.share, seed: g.Uint64(), class: result.BrokenKernel}
	if k.share >= 0.95 {
		p.class = result.WholeKernel
	}
	p.centre(k.outline)
	p.area = Area(p.outline)
	p.length, p.width, _ = ferets(p.outline)
	p.maxFeret, p.minFeret = p.length, p.width
	p.share = math.Min(1, p.area/meanArea)
	p.mass = roundedVolume(p.area, perimeter(p.outline), p.thick, k.round()) * density[kindKernel]
	p.passes = passesSquare(p.outline, p.thick, k.round(), 4.75)
	return p
}

// round is the radius of the edge's rounding, mm.
func (k *grain) round() float64 {
	_, small, _ := ferets(k.outline)
	return math.Min(0.42*k.t, 0.35*small)
}

func (p *piece) centre(outline []XY) {
	c := Centroid(outline)
	p.outline = make([]XY, len(outline))
	for i, q := range outline {
		p.outline[i] = sub(q, c)
	}
	if p.grain != nil {
		p.grain.tip -= c[0]
		p.grain.top -= c[0]
	}
}

// meanUnbroken is the mean plan area of the lot's unbroken kernels, mm².
func meanUnbroken(lot *Lot) float64 {
	g := stream(1, streamLot)
	sum := 0.0
	const n = 2000
	for i := 0; i < n; i++ {
		k := drawGrain(lot, g)
		sum += Area(k.own)
	}
	return sum / n
}
