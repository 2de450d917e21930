package main

import (
	"fmt"
	"math"
)

// bestHeat is the divisor of the log odds that makes the examples most likely.
func bestHeat(n *perceptron, rest []example) float64 {
	best, least := 1.0, math.Inf(1)
	for heat := 0.5; heat < 4; heat *= 1.03 {
		var loss float64
		z, h := make([]float64, n.in), make([]float64, n.hidden)
		for _, e := range rest {
			loss -= math.Log(softmax(n.forward(e.x, z, h), heat)[e.class] + 1e-12)
		}
		if loss < least {
			best, least = heat, loss
		}
	}
	return best
}

// report prints the confusion of the examples and how reliable the probabilities are.
func report(n *perceptron, rest []example) {
	var confusion [4][4]int
	var hit, said, count [10]float64
	z, h := make([]float64, n.in), make([]float64, n.hidden)
	right, kernelRight, nick := 0, 0, 0
	for _, e := range rest {
		p := softmax(n.forward(e.x, z, h), n.heat)
		k := 0
		for c := range p {
			if p[c] > p[k] {
				k = c
			}
		}
		confusion[e.class][k]++
		if k == e.class {
			right++
		} else if e.kept > 0.88 && e.kept < 0.98 {
			nick++
		}
		if (k == 2) == (e.class == 2) {
			kernelRight++
		}
		b := min(9, int(p[k]*10))
		count[b]++
		said[b] += p[k]
		if k == e.class {
			hit[b]++
		}
	}
	t := float64(len(rest))
	fmt.Printf("right %.4f, kernel against stover %.4f, heat %.2f, wrong with 88 to 98 %% kept: %d\n", float64(right)/t, float64(kernelRight)/t, n.heat, nick)
	for c, name := range []string{"whole", "broken", "stover", "foreign"} {
		fmt.Printf("  true %-7s named whole %5d broken %5d stover %5d foreign %5d\n", name, confusion[c][0], confusion[c][1], confusion[c][2], confusion[c][3])
	}
	for b := range count {
		if count[b] > 0 {
			fmt.Printf("  said %.3f held %.3f of %.0f\n", said[b]/count[b], hit[b]/count[b], count[b])
		}
	}
}
