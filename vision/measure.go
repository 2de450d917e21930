package vision

import (
	"math"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// slender is the aspect (largest Feret diameter over smallest) from which stover has a length along
// its centreline; stubbier scraps and rings are as long as their largest Feret diameter.
const slender = 1.5

// measures of an outline seen from straight above, mm and mm².
type measures struct {
	area, perimeter, solidity, maxFeret, minFeret, centreLine float64
}

func measure(o []result.XY) measures {
	hull := shape.ConvexHull(o)
	m := measures{
		area: math.Abs(shape.Area(o)), perimeter: shape.Perimeter(o), solidity: shape.Solidity(o),
		maxFeret: hull.MaxFeret().Length, minFeret: hull.MinFeret().Length,
	}
	m.centreLine = m.maxFeret
	if m.maxFeret >= slender*m.minFeret {
		m.centreLine, _ = shape.CentreLine(o)
	}
	return m
}

func (m measures) kernelSize() (length, width float64) { return m.maxFeret, m.minFeret }

func (m measures) stoverSize() (length, width float64) {
	return m.centreLine, m.area / math.Max(m.centreLine, 1e-9)
}
