package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gristmark/internal/fit/descent"
	"gristmark/vision"
)

// perceptron is the model while it is fitted: w1 flat, a row a unit, bias last; w2 a weight a unit, then the bias.
type perceptron struct {
	in, hidden int
	mean, sd   []float64
	w1, w2     []float64
}

func fit(train []example, hidden, epochs int, g *rand.Rand) *perceptron {
	n := newPerceptron(train, hidden, g)
	a1, a2 := descent.NewAdam(len(n.w1)), descent.NewAdam(len(n.w2))
	order := g.Perm(len(train))
	const batch = 64
	for e := range epochs {
		rate := 0.004 * (0.5 + 0.5*math.Cos(math.Pi*float64(e)/float64(epochs)))
		g.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
		for s := 0; s < len(order); s += batch {
			g1, g2 := make([]float64, len(n.w1)), make([]float64, len(n.w2))
			part := order[s:min(s+batch, len(order))]
			for _, i := range part {
				n.gradient(&train[i], g1, g2, g)
			}
			a1.Step(n.w1, g1, rate, float64(len(part)))
			a2.Step(n.w2, g2, rate, float64(len(part)))
		}
	}
	return n
}

func newPerceptron(train []example, hidden int, g *rand.Rand) *perceptron {
	in := len(vision.CutFeatureNames())
	n := &perceptron{in: in, hidden: hidden, mean: make([]float64, in), sd: make([]float64, in)}
	for _, e := range train {
		for k, v := range e.X {
			n.mean[k] += v / float64(len(train))
		}
	}
	for _, e := range train {
		for k, v := range e.X {
			n.sd[k] += (v - n.mean[k]) * (v - n.mean[k]) / float64(len(train))
		}
	}
	for k := range n.sd {
		n.sd[k] = math.Max(math.Sqrt(n.sd[k]), 1e-2)
	}
	n.w1, n.w2 = make([]float64, hidden*(in+1)), make([]float64, hidden+1)
	for i := range n.w1 {
		n.w1[i] = g.NormFloat64() / math.Sqrt(float64(in))
	}
	for i := range n.w2 {
		n.w2[i] = g.NormFloat64() / math.Sqrt(float64(hidden))
	}
	return n
}

// gradient adds the gradient of the cross entropy. Features are jittered, so that the model does not lean on the
// exact value of any one.
func (n *perceptron) gradient(e *example, g1, g2 []float64, g *rand.Rand) {
	z, h := make([]float64, n.in), make([]float64, n.hidden)
	for k, v := range e.X {
		z[k] = math.Max(-4, math.Min(4, (v-n.mean[k])/n.sd[k]+0.3*g.NormFloat64()))
	}
	s := n.w2[n.hidden]
	for u := range h {
		w := n.w1[u*(n.in+1) : (u+1)*(n.in+1)]
		t := w[n.in]
		for k, v := range z {
			t += w[k] * v
		}
		h[u] = math.Tanh(t)
		s += n.w2[u] * h[u]
	}
	d := 1 / (1 + math.Exp(-s))
	if e.Parts {
		d--
	}
	for u, v := range h {
		g2[u] += d * v
		b := d * n.w2[u] * (1 - v*v)
		for k, x := range z {
			g1[u*(n.in+1)+k] += b * x
		}
		g1[u*(n.in+1)+n.in] += b
	}
	g2[n.hidden] += d
}

func (n *perceptron) model(how string) vision.CutModel {
	m := vision.Regression{Features: vision.CutFeatureNames(), Mean: descent.Round(n.mean), SD: descent.Round(n.sd), Output: descent.Round(n.w2), Fitted: how}
	for u := range n.hidden {
		m.Hidden = append(m.Hidden, descent.Round(n.w1[u*(n.in+1):(u+1)*(n.in+1)]))
	}
	return vision.CutModel{Regression: m}
}

// report prints how well the model tells cuts, and how its probabilities come true.
func report(m *vision.CutModel, examples []example, what string) {
	var table [2][2]int
	var said, came [10]float64
	loss := 0.0
	for _, e := range examples {
		p := m.Probability(e.X)
		i, j := 0, 0
		if e.Parts {
			i = 1
			loss -= math.Log(math.Max(p, 1e-6))
		} else {
			loss -= math.Log(math.Max(1-p, 1e-6))
		}
		if p > 0.5 {
			j = 1
		}
		table[i][j]++
		b := min(int(p*10), 9)
		said[b]++
		came[b] += float64(i)
	}
	fmt.Printf("%s: %d cuts, loss %.4f; one piece: %d left, %d cut; two pieces: %d left, %d cut\n", what, len(examples),
		loss/math.Max(1, float64(len(examples))), table[0][0], table[0][1], table[1][0], table[1][1])
	for b := range said {
		fmt.Printf("  %.1f-%.1f: %5.0f, came true %.2f\n", float64(b)/10, float64(b+1)/10, said[b], came[b]/math.Max(1, said[b]))
	}
}
