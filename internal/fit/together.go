package main

import "gristmark/internal/fit/descent"

// together is the one perceptron that descent.Together makes of those given.
func together(nets []*perceptron) *perceptron {
	var layers []descent.Layers
	for _, n := range nets {
		layers = append(layers, descent.Layers{Hidden: n.hidden, First: n.w1, Second: n.w2})
	}
	one, l := *nets[0], descent.Together(layers, 4)
	one.hidden, one.w1, one.w2 = l.Hidden, l.First, l.Second
	return &one
}
