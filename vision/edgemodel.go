package vision

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"slices"
	"sync"
)

// EdgeModel tells from what the photo shows across an outline how far off the outline lies: a perceptron with one hidden layer.
// internal/fit/edges fits it on rendered scenes.
type EdgeModel struct {
	Features []string    `json:"features"` // names, in order
	Mean     []float64   `json:"mean"`     // of each feature over the fitting set
	SD       []float64   `json:"sd"`       // > 0
	Hidden   [][]float64 `json:"hidden"`   // a row a unit: weights, then bias
	Output   []float64   `json:"output"`   // weights, then bias
	Fitted   string      `json:"fitted"`   // how, in words
}

//go:embed edges.json
var edgesJSON []byte

var loadEdges = sync.OnceValues(func() (*EdgeModel, error) {
	var m EdgeModel
	if err := json.Unmarshal(edgesJSON, &m); err != nil {
		return nil, fmt.Errorf("vision: the built-in model of edges cannot be read: %w", err)
	}
	n := len(m.Features)
	if !slices.Equal(m.Features, edgeNames) || len(m.Mean) != n || len(m.SD) != n || len(m.Output) != len(m.Hidden)+1 {
		return nil, fmt.Errorf("vision: the model of edges was fitted on other features: fit it again")
	}
	return &m, nil
})

// EdgeFeatureNames lists the features of a point of an outline.
func EdgeFeatureNames() []string { return slices.Clone(edgeNames) }

// mostOff bounds Shift, work px.
const mostOff = 0.8

// Shift is how far out of the piece the edge lies from the point with features f, work px, -mostOff to mostOff.
func (m *EdgeModel) Shift(f []float64) float64 {
	return max(-mostOff, min(mostOff, affine(m.Output, hiddenUnits(m.Hidden, standardised(f, m.Mean, m.SD)))))
}

// trust is how far, 0 to 1, the model is followed in a photo whose edges have the given width, work px: not where they are much wider than those
// that it was fitted on.
func (m *EdgeModel) trust(width float64) float64 {
	k := slices.Index(m.Features, widthOfEdges)
	z := (width - m.Mean[k]) / m.SD[k]
	return max(0, min(1, (4-z)/2))
}
