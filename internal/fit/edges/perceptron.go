package main

import (
	"math"
	"math/rand/v2"
	"runtime"
	"sync"

	"gristmark/internal/fit/descent"
	"gristmark/vision"
)

// perceptron is the model while it is fitted: weights flat, a row a unit, bias last.
type perceptron struct {
	in, hidden int
	mean, sd   []float64
	w1, w2     []float64
}

// Settings of the descent.
const (
	batch   = 512
	rate    = 0.004
	huberPx = 0.5 // from which an error counts in proportion, work px
)

func fit(train []example, hidden, epochs int, g *rand.Rand) *perceptron {
	n := newPerceptron(train, hidden, g)
	a1, a2 := descent.NewAdam(len(n.w1)), descent.NewAdam(len(n.w2))
	order := g.Perm(len(train))
	for e := range epochs {
		slow := rate * (0.5 + 0.5*math.Cos(math.Pi*float64(e)/float64(epochs)))
		g.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
		for s := 0; s < len(order); s += batch {
			part := order[s:min(s+batch, len(order))]
			g1, g2 := n.gradients(train, part)
			a1.Step(n.w1, g1, slow, float64(len(part)))
			a2.Step(n.w2, g2, slow, float64(len(part)))
		}
	}
	return n
}

func newPerceptron(train []example, hidden int, g *rand.Rand) *perceptron {
	in := len(vision.EdgeFeatureNames())
	n := &perceptron{in: in, hidden: hidden, mean: make([]float64, in), sd: make([]float64, in)}
	for _, e := range train {
		for k, v := range e.x {
			n.mean[k] += float64(v) / float64(len(train))
		}
	}
	for _, e := range train {
		for k, v := range e.x {
			n.sd[k] += (float64(v) - n.mean[k]) * (float64(v) - n.mean[k]) / float64(len(train))
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
func (n *perceptron) gradients(train []example, part []int) (g1, g2 []float64) {
	workers := runtime.NumCPU()
	all1, all2 := make([][]float64, workers), make([][]float64, workers)
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			all1[w], all2[w] = make([]float64, len(n.w1)), make([]float64, len(n.w2))
			z, h := make([]float64, n.in), make([]float64, n.hidden)
			for i := w; i < len(part); i += workers {
				n.gradient(&train[part[i]], z, h, all1[w], all2[w])
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

func (n *perceptron) forward(x []float32, z, h []float64) float64 {
	for k := range z {
		z[k] = math.Max(-4, math.Min(4, (float64(x[k])-n.mean[k])/n.sd[k]))
	}
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

func (n *perceptron) gradient(e *example, z, h, g1, g2 []float64) {
	d := n.forward(e.x, z, h) - float64(e.off)
	d = math.Max(-huberPx, math.Min(huberPx, d))
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

func (n *perceptron) model(fitted string) vision.EdgeModel {
	m := vision.EdgeModel{Features: vision.EdgeFeatureNames(), Mean: descent.Round(n.mean), SD: descent.Round(n.sd), Output: descent.Round(n.w2), Fitted: fitted}
	for u := range n.hidden {
		m.Hidden = append(m.Hidden, descent.Round(n.w1[u*(n.in+1):(u+1)*(n.in+1)]))
	}
	return m
}
