package vision

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"sync"
)

// CutModel tells from a cut's features how likely it parts two pieces: a perceptron with one hidden
// layer. internal/fit fits it on rendered tuning scenes.
type CutModel struct {
	Features []string    `json:"features"` // names, in order
	Mean     []float64   `json:"mean"`     // of each feature over the fitting set
	SD       []float64   `json:"sd"`       // > 0
	Hidden   [][]float64 `json:"hidden"`   // a row a unit: weights, then bias
	Output   []float64   `json:"output"`   // weights, then bias
	Fitted   string      `json:"fitted"`   // how, in words
}

//go:embed cuts.json
var cutsJSON []byte

var loadCuts = sync.OnceValues(func() (*CutModel, error) {
	var m CutModel
	if err := json.Unmarshal(cutsJSON, &m); err != nil {
		return nil, fmt.Errorf("vision: the built-in model of cuts cannot be read: %w", err)
	}
	n := len(m.Features)
	if !slices.Equal(m.Features, cutNames) || len(m.Mean) != n || len(m.SD) != n || len(m.Output) != len(m.Hidden)+1 {
		return nil, fmt.Errorf("vision: the model of cuts was fitted on other features: fit it again")
	}
	return &m, nil
})

// CutFeatureNames lists the features of a cut.
func CutFeatureNames() []string { return slices.Clone(cutNames) }

// Probability that a cut with features f parts two pieces, 0 to 1.
func (m *CutModel) Probability(f []float64) float64 {
	return 1 / (1 + math.Exp(-affine(m.Output, hiddenUnits(m.Hidden, standardised(f, m.Mean, m.SD)))))
}
