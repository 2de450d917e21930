package vision

import (
	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// surelyKernel is the probability from which a piece needs no centreline.
const surelyKernel = 0.98

// measure takes the sizes of an outline seen from straight above, mm and mm².
func (d *draft) measure(o []result.XY) {
	hull := shape.ConvexHull(o)
	long, slim := hull.MaxFeret().Length, hull.MinFeret().Length
	d.MaxFeretMM, d.MinFeretMM, d.CentreLineMM = long, slim, long
	d.LengthMM, d.WidthMM = long, slim
	d.Solidity = hull.Solidity(shape.Area(o))
	if d.PKernel() > surelyKernel {
		d.AreaMM2, d.PerimeterMM = abs(shape.Area(o)), shape.Perimeter(o)
		return
	}
	m := shape.Measure(o)
	d.AreaMM2, d.PerimeterMM, d.CentreLineMM = m.Area, m.Perimeter, m.CentreLine
	if d.PStover > d.PKernel() {
		d.LengthMM, d.WidthMM = m.Stover()
	}
}

func abs(x float64) float64 { return max(x, -x) }
