// Package plane is the tray plane of a rendered scene, from its truth.
package plane

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"gristmark/internal/result"
	"gristmark/internal/scene"
	"gristmark/vision/shape"
)

// True maps by the homography of the truth, without the lens's radial term.
type True struct {
	to, from [9]float64 // mm to px, px to mm
	t        scene.Truth
}

// Of is the plane that the truth tells.
func Of(t scene.Truth) (*True, error) {
	var inv mat.Dense
	if err := inv.Inverse(mat.NewDense(3, 3, append([]float64(nil), t.Homography[:]...))); err != nil {
		return nil, fmt.Errorf("the truth's homography has no inverse: %w", err)
	}
	p := &True{to: t.Homography, t: t}
	copy(p.from[:], inv.RawMatrix().Data)
	return p, nil
}

func apply(h *[9]float64, p result.XY) result.XY {
	w := h[6]*p[0] + h[7]*p[1] + h[8]
	return result.XY{(h[0]*p[0] + h[1]*p[1] + h[2]) / w, (h[3]*p[0] + h[4]*p[1] + h[5]) / w}
}

func (p *True) ToMM(px result.XY) result.XY { return apply(&p.from, px) }
func (p *True) ToPx(mm result.XY) result.XY { return apply(&p.to, mm) }

func (p *True) MMPerPxAt(px result.XY) float64 {
	a, b, c := p.ToMM(px), p.ToMM(result.XY{px[0] + 1, px[1]}), p.ToMM(result.XY{px[0], px[1] + 1})
	return math.Sqrt(math.Abs((b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0])))
}

func (p *True) Foot() (result.XY, float64, float64, bool) {
	return p.t.Camera.FootMM, p.t.Camera.HeightMM, 0, true
}

// Sheet is the outline of the printed ruler, a little enlarged.
func (p *True) Sheet(t scene.Truth) [][]result.XY {
	if t.Sheet == nil {
		return nil
	}
	var pts []result.XY
	for _, m := range t.Sheet.Markers {
		pts = append(pts, m.CornersPx[:]...)
	}
	hull := shape.ConvexHull(pts)
	c := shape.Centroid(hull)
	out := make([]result.XY, len(hull))
	for i, q := range hull {
		d := result.XY{q[0] - c[0], q[1] - c[1]}
		l := math.Hypot(d[0], d[1])
		grow := 1 + 8/p.MMPerPxAt(c)/l
		out[i] = result.XY{c[0] + d[0]*grow, c[1] + d[1]*grow}
	}
	return [][]result.XY{out}
}
