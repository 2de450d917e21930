package vision

import (
	_ "embed"
	"math"
	"sync"
)

// HeightModel tells from a piece's features, those that it is named by, the log of the height in mm above the tray that makes its area right when
// its outline is turned into that seen from straight above. internal/fit/heights fits it on rendered pieces whose heights are common practice: an
// assumption that the scale's doubt does not cover.
type HeightModel struct{ Regression }

//go:embed heights.json
var heightsJSON []byte

var loadHeights = sync.OnceValues(func() (*HeightModel, error) {
	m, err := readRegression("heights", heightsJSON, featureNames)
	return &HeightModel{m}, err
})

// Heights of pieces, mm.
const (
	leastTall = 0.02
	mostTall  = 14
)

// HeightMM is the expected height of the piece above the tray, leastTall to mostTall.
func (m *HeightModel) HeightMM(f []float64) float64 { return HeightOf(m.value(f)) }

// HeightOf is the height, mm, of which a model of heights tells the log, leastTall to mostTall.
func HeightOf(y float64) float64 { return math.Max(leastTall, math.Min(mostTall, math.Exp(y))) }
