package main

import (
	"math"
	"math/rand/v2"

	"gristmark/internal/fit/descent"
	"gristmark/vision"
)

// perceptron is the model while it is fitted: weights flat, a row a unit, bias last.
type perceptron struct {
	in, hidden int
	mean, sd   []float64
	w1, w2     []float64
	heat       float64
	prior      [4]float64
}

func fit(train []example, hidden, epochs int, g *rand.Rand) *perceptron {
	n := newPerceptron(train, hidden, g)
	a1, a2 := descent.NewAdam(len(n.w1)), descent.NewAdam(len(n.w2))
	order := g.Perm(len(train))
	const batch = 32
	for e := range epochs {
		rate := 0.003 * (0.5 + 0.5*math.Cos(math.Pi*float64(e)/float64(epochs)))
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
	in := len(vision.FeatureNames())
	n := &perceptron{in: in, hidden: hidden, heat: 1, mean: make([]float64, in), sd: make([]float64, in)}
	for _, e := range train {
		n.prior[e.class] += 1 / float64(len(train))
		for k, v := range e.x {
			n.mean[k] += v / float64(len(train))
		}
	}
	for _, e := range train {
		for k, v := range e.x {
			n.sd[k] += (v - n.mean[k]) * (v - n.mean[k]) / float64(len(train))
		}
	}
	for k := range n.sd {
		n.sd[k] = math.Max(math.Sqrt(n.sd[k]), 1e-3)
	}
	n.w1, n.w2 = make([]float64, hidden*(in+1)), make([]float64, 4*(hidden+1))
	for i := range n.w1 {
		n.w1[i] = g.NormFloat64() / math.Sqrt(float64(in))
	}
	for i := range n.w2 {
		n.w2[i] = 0.1 * g.NormFloat64() / math.Sqrt(float64(hidden))
	}
	return n
}

func (n *perceptron) forward(x []float64, z, h []float64) (odds [4]float64) {
	for k := range z {
		z[k] = math.Max(-4, math.Min(4, (x[k]-n.mean[k])/n.sd[k]))
	}
	for u := range h {
		w := n.w1[u*(n.in+1) : (u+1)*(n.in+1)]
		s := w[n.in]
		for k, v := range z {
			s += w[k] * v
		}
		h[u] = math.Tanh(s)
	}
	for c := range odds {
		w := n.w2[c*(n.hidden+1) : (c+1)*(n.hidden+1)]
		s := w[n.hidden]
		for u, v := range h {
			s += w[u] * v
		}
		odds[c] = s + vision.CloseUpAdds(x, c)
	}
	return odds
}

// jitter of the features, standard deviations: the model does not lean on the exact value of any one.
const jitter = 0.1

// gradient adds the gradient of the cross entropy, the features jittered.
func (n *perceptron) gradient(e *example, g1, g2 []float64, g *rand.Rand) {
	z, h := make([]float64, n.in), make([]float64, n.hidden)
	x := make([]float64, n.in)
	for k, v := range e.x {
		x[k] = v + jitter*n.sd[k]*g.NormFloat64()
	}
	odds := n.forward(x, z, h)
	for c := range odds {
		odds[c] += vision.CloseUpAdds(e.x, c) - vision.CloseUpAdds(x, c) // it stands as it is
	}
	p := softmax(odds, 1)
	back := make([]float64, n.hidden)
	for c := range p {
		d := p[c]
		if c == e.class {
			d--
		}
		w := n.w2[c*(n.hidden+1):]
		for u, v := range h {
			g2[c*(n.hidden+1)+u] += d * v
			back[u] += d * w[u]
		}
		g2[c*(n.hidden+1)+n.hidden] += d
	}
	for u, b := range back {
		d := b * (1 - h[u]*h[u])
		for k, v := range z {
			g1[u*(n.in+1)+k] += d * v
		}
		g1[u*(n.in+1)+n.in] += d
	}
}

func softmax(o [4]float64, heat float64) (p [4]float64) {
	top := max(o[0], o[1], o[2], o[3])
	var s float64
	for k := range p {
		p[k] = math.Exp((o[k] - top) / heat)
		s += p[k]
	}
	for k := range p {
		p[k] /= s
	}
	return p
}

func (n *perceptron) model(how string) vision.Model {
	m := vision.Model{Features: vision.FeatureNames(), Mean: descent.Round(n.mean), SD: descent.Round(n.sd), Prior: n.prior, Heat: n.heat, Fitted: how}
	for u := range n.hidden {
		m.Hidden = append(m.Hidden, descent.Round(n.w1[u*(n.in+1):(u+1)*(n.in+1)]))
	}
	for c := range 4 {
		m.Output = append(m.Output, descent.Round(n.w2[c*(n.hidden+1):(c+1)*(n.hidden+1)]))
	}
	return m
}
