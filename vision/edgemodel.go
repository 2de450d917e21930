package vision

import (
	_ "embed"
	"slices"
	"sync"
)

// EdgeModel tells from what the photo shows across an outline how far off the outline lies. internal/fit/edges fits it on rendered scenes.
type EdgeModel struct{ Regression }

//go:embed edges.json
var edgesJSON []byte

var loadEdges = sync.OnceValues(func() (*EdgeModel, error) {
	m, err := readRegression("edges", edgesJSON, edgeNames)
	return &EdgeModel{m}, err
})

// EdgeFeatureNames lists the features of a point of an outline.
func EdgeFeatureNames() []string { return slices.Clone(edgeNames) }

// mostOff bounds Shift, photo px.
const mostOff = 0.8

// Shift is how far out of the piece the edge lies from the point with features f, photo px, -mostOff to mostOff.
func (m *EdgeModel) Shift(f []float64) float64 {
	return max(-mostOff, min(mostOff, m.value(f)))
}

// trust is how far, 0 to 1, the model is followed in a photo whose edges have the given width, photo px: not where they are much wider than those
// that it was fitted on.
func (m *EdgeModel) trust(width float64) float64 {
	k := slices.Index(m.Features, widthOfEdges)
	z := (width - m.Mean[k]) / m.SD[k]
	return max(0, min(1, (4-z)/2))
}
