// Package regress fits perceptrons with one hidden layer that tell one number from features.
package regress

import (
	"math"
	"math/rand/v2"
	"runtime"
	"sync"

	"gristmark/internal/fit/descent"
	"gristmark/vision"
)

// Perceptron is the model while it is fitted: weights flat, a row a unit, bias last.
type Perceptron struct {
	in, hidden int
	mean, sd   []float64
	w1, w2     []float64
}

// Settings of a fit.
type Settings struct {
	Hidden, Epochs, Batch int
	Rate                  float64 // of the descent at its start; it falls to nothing by a half cosine
	Jitter                float64 // standard deviation of what is added to the standardised features, so that no exact value is leant on
}

// Slope is how fast the loss of example i rises with the model's answer y.
type Slope func(i int, y float64) float64

// Fit fits to the features x, a row an example.
func Fit(x [][]float32, slope Slope, s Settings, g *rand.Rand) *Perceptron {
	n := first(x, s.Hidden, g)
	a1, a2 := descent.NewAdam(len(n.w1)), descent.NewAdam(len(n.w2))
	order := g.Perm(len(x))
	for e := range s.Epochs {
		rate := s.Rate * (0.5 + 0.5*math.Cos(math.Pi*float64(e)/float64(s.Epochs)))
		g.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
		for k := 0; k < len(order); k += s.Batch {
			part := order[k:min(k+s.Batch, len(order))]
			g1, g2 := n.gradients(x, slope, part, s.Jitter, g.Uint64())
			a1.Step(n.w1, g1, rate, float64(len(part)))
			a2.Step(n.w2, g2, rate, float64(len(part)))
		}
	}
	return n
}

// first is the perceptron before the descent.
func first(x [][]float32, hidden int, g *rand.Rand) *Perceptron {
	in := len(x[0])
	n := &Perceptron{in: in, hidden: hidden, mean: make([]float64, in), sd: make([]float64, in)}
	for _, row := range x {
		for k, v := range row {
			n.mean[k] += float64(v) / float64(len(x))
		}
	}
	for _, row := range x {
		for k, v := range row {
			n.sd[k] += (float64(v) - n.mean[k]) * (float64(v) - n.mean[k]) / float64(len(x))
		}
	}
	for k := range n.sd {
		n.sd[k] = math.Max(math.Sqrt(n.sd[k]), 1e-3)
	}
	n.w1, n.w2 = make([]float64, hidden*(in+1)), make([]float64, hidden+1)
	for i := range n.w1 {
		n.w1[i] = g.NormFloat64() / math.Sqrt(float64(in))
	}
	for i := range n.w2 {
		n.w2[i] = 0.1 * g.NormFloat64() / math.Sqrt(float64(hidden))
	}
	return n
}

// gradients of the summed loss over part, each processor with a share of it.
func (n *Perceptron) gradients(x [][]float32, slope Slope, part []int, jitter float64, seed uint64) (g1, g2 []float64) {
	workers := runtime.NumCPU()
	all1, all2 := make([][]float64, workers), make([][]float64, workers)
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			all1[w], all2[w] = make([]float64, len(n.w1)), make([]float64, len(n.w2))
			z, h := make([]float64, n.in), make([]float64, n.hidden)
			for k := w; k < len(part); k += workers {
				i := part[k]
				n.standardise(x[i], z)
				if jitter > 0 {
					g := rand.New(rand.NewPCG(seed, uint64(i)))
					for f := range z {
						z[f] += jitter * g.NormFloat64()
					}
				}
				n.back(z, h, slope(i, n.forward(z, h)), all1[w], all2[w])
			}
		})
	}
	wg.Wait()
	for w := 1; w < workers; w++ {
		for i, v := range all1[w] {
			all1[0][i] += v
		}
		for i, v := range all2[w] {
			all2[0][i] += v
		}
	}
	return all1[0], all2[0]
}

func (n *Perceptron) standardise(x []float32, z []float64) {
	for k := range z {
		z[k] = math.Max(-4, math.Min(4, (float64(x[k])-n.mean[k])/n.sd[k]))
	}
}

func (n *Perceptron) forward(z, h []float64) float64 {
	sum := n.w2[n.hidden]
	for u := range h {
		w := n.w1[u*(n.in+1) : (u+1)*(n.in+1)]
		s := w[n.in]
		for k, v := range z {
			s += w[k] * v
		}
		h[u] = math.Tanh(s)
		sum += n.w2[u] * h[u]
	}
	return sum
}

// back adds what the slope d of the loss makes of the weights' gradients.
func (n *Perceptron) back(z, h []float64, d float64, g1, g2 []float64) {
	g2[n.hidden] += d
	for u, v := range h {
		g2[u] += d * v
		back := d * n.w2[u] * (1 - v*v)
		row := g1[u*(n.in+1) : (u+1)*(n.in+1)]
		for k, x := range z {
			row[k] += back * x
		}
		row[n.in] += back
	}
}

// Value is what the model tells of the features x.
func (n *Perceptron) Value(x []float32) float64 {
	z := make([]float64, n.in)
	n.standardise(x, z)
	return n.forward(z, make([]float64, n.hidden))
}

// Model is the perceptron as package vision reads it.
func (n *Perceptron) Model(features []string, fitted string) vision.Regression {
	m := vision.Regression{Features: features, Mean: descent.Round(n.mean), SD: descent.Round(n.sd), Output: descent.Round(n.w2), Fitted: fitted}
	for u := range n.hidden {
		m.Hidden = append(m.Hidden, descent.Round(n.w1[u*(n.in+1):(u+1)*(n.in+1)]))
	}
	return m
}
