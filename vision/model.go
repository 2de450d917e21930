package vision

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"sync"
)

// CloseUpAt is the place among the features of the first of the log probabilities that the close-up gives, of the first CloseUpOdds classes.
const (
	CloseUpAt   = 43
	CloseUpOdds = 3
)

// Model names a part from its features: a perceptron with one hidden layer whose outputs, added to what the close-up says, are the
// log odds of whole kernel, broken kernel, stover and foreign matter. It is fitted by internal/fit, which states
// the scenes, seeds and settings; the probabilities are calibrated on scenes not fitted on.
type Model struct {
	Features []string    `json:"features"` // names, in order
	Mean     []float64   `json:"mean"`     // of each feature over the fitting set
	SD       []float64   `json:"sd"`       // > 0
	Hidden   [][]float64 `json:"hidden"`   // a row a unit: weights, then bias
	Output   [][]float64 `json:"output"`   // a row a class: weights, then bias
	Prior    [4]float64  `json:"prior"`    // shares of the classes in the fitting set
	Heat     float64     `json:"heat"`     // log odds are divided by it, > 0
	Fitted   string      `json:"fitted"`   // how, in words
}

//go:embed model.json
var modelJSON []byte

var loadModel = sync.OnceValues(func() (*Model, error) {
	var m Model
	if err := json.Unmarshal(modelJSON, &m); err != nil {
		return nil, fmt.Errorf("vision: the built-in model cannot be read: %w", err)
	}
	return &m, m.validate()
})

func (m *Model) validate() error {
	switch n := len(m.Features); {
	case !slices.Equal(m.Features, featureNames):
		return fmt.Errorf("vision: the model was fitted on other features: fit it again")
	case len(m.Mean) != n || len(m.SD) != n || len(m.Output) != 4 || m.Heat <= 0:
		return fmt.Errorf("vision: the model is incomplete: fit it again")
	}
	return nil
}

// bound keeps standardised features of pieces unlike any that was fitted on from running away.
const bound = 4

// odds4 holds one number for whole kernel, broken kernel, stover and foreign matter each.
type odds4 = [4]float64

// Probabilities of whole kernel, broken kernel, stover and foreign matter under the fitting set's prior.
func (m *Model) Probabilities(f []float64) [4]float64 {
	h := hiddenUnits(m.Hidden, standardised(f, m.Mean, m.SD))
	var odds odds4
	for k, w := range m.Output {
		odds[k] = (affine(w, h) + CloseUpAdds(f, k)) / m.Heat
	}
	return softmax(odds)
}

// CloseUpAdds is what the close-up adds to the log odds of the class k of a part with features f: nothing to those of foreign matter.
func CloseUpAdds(f []float64, k int) float64 {
	if k >= CloseUpOdds {
		return 0
	}
	return f[CloseUpAt+k]
}

// standardised are features by their mean and standard deviation over a fitting set, within bound.
func standardised(f, mean, sd []float64) []float64 {
	z := make([]float64, len(f))
	for i, v := range f {
		z[i] = math.Max(-bound, math.Min(bound, (v-mean[i])/sd[i]))
	}
	return z
}

// hiddenUnits are the outputs of a hidden layer, a row of weights and bias a unit.
func hiddenUnits(rows [][]float64, z []float64) []float64 {
	h := make([]float64, len(rows))
	for i, w := range rows {
		h[i] = math.Tanh(affine(w, z))
	}
	return h
}

func affine(w, x []float64) float64 {
	sum := w[len(x)]
	for i, v := range x {
		sum += w[i] * v
	}
	return sum
}

func softmax(odds odds4) (p odds4) {
	top := max(odds[0], odds[1], odds[2], odds[3])
	var sum float64
	for k := range p {
		p[k] = math.Exp(odds[k] - top)
		sum += p[k]
	}
	for k := range p {
		p[k] /= sum
	}
	return p
}

// priors are the shares of whole kernels, broken kernels, stover and foreign matter that each kind of photo is
// taken to hold before it is looked at (common practice; kernels washed out still carry scraps, but less soil and stone).
// A good one in seven kernels is taken to be whole: rolls that let more through are set anew.
var priors = map[Show]odds4{
	ShowKernels: {0.14, 0.79, 0.05, 0.01},
	ShowPieces:  {0.03, 0.17, 0.78, 0.02},
	ShowMixed:   {0.08, 0.47, 0.43, 0.02},
}

// usual are the priors of a kind of photo; unknown kinds are mixed.
func usual(show Show) odds4 {
	if p, ok := priors[show]; ok {
		return p
	}
	return priors[ShowMixed]
}

// shift moves probabilities from the fitting set's prior to another.
func (m *Model) shift(p, to odds4) odds4 {
	for k := range p {
		p[k] *= to[k] / math.Max(m.Prior[k], 0.01)
	}
	return normalised(p)
}

// normalised makes the four add up to 1.
func normalised(p odds4) odds4 {
	sum := p[0] + p[1] + p[2] + p[3]
	for k := range p {
		p[k] /= math.Max(sum, 1e-12)
	}
	return p
}
