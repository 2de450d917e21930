package vision

import (
	_ "embed"
	"math"
	"slices"
	"sync"
)

// CutModel tells from a cut's features how likely it parts two pieces. internal/fit/cuts fits it on rendered tuning scenes.
type CutModel struct{ Regression }

//go:embed cuts.json
var cutsJSON []byte

var loadCuts = sync.OnceValues(func() (*CutModel, error) {
	m, err := readRegression("cuts", cutsJSON, cutNames)
	return &CutModel{m}, err
})

// CutFeatureNames lists the features of a cut.
func CutFeatureNames() []string { return slices.Clone(cutNames) }

// Probability that a cut with features f parts two pieces, 0 to 1.
func (m *CutModel) Probability(f []float64) float64 {
	return 1 / (1 + math.Exp(-m.value(f)))
}
