package vision

import (
	"encoding/json"
	"fmt"
	"slices"
)

// Regression tells one number from features: a perceptron with one hidden layer, fitted by programs under internal/fit.
type Regression struct {
	Features []string    `json:"features"` // names, in order
	Mean     []float64   `json:"mean"`     // of each feature over the fitting set
	SD       []float64   `json:"sd"`       // > 0
	Hidden   [][]float64 `json:"hidden"`   // a row a unit: weights, then bias
	Output   []float64   `json:"output"`   // weights, then bias
	Fitted   string      `json:"fitted"`   // how, in words
}

// readRegression reads the built-in model of what, which must have been fitted on the named features.
func readRegression(what string, b []byte, names []string) (m Regression, err error) {
	if err := json.Unmarshal(b, &m); err != nil {
		return m, fmt.Errorf("vision: the built-in model of %s cannot be read: %w", what, err)
	}
	n := len(m.Features)
	if !slices.Equal(m.Features, names) || len(m.Mean) != n || len(m.SD) != n || len(m.Output) != len(m.Hidden)+1 {
		return m, fmt.Errorf("vision: the model of %s was fitted on other features: fit it again", what)
	}
	return m, nil
}

func (m *Regression) value(f []float64) float64 {
	return affine(m.Output, hiddenUnits(m.Hidden, standardised(f, m.Mean, m.SD)))
}
