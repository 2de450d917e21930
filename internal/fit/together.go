package main

// together is the one perceptron whose log odds are the mean of those given: their hidden units side by side. What one
// of them learned by chance the others do not share (Hansen and Salamon 1990, IEEE Trans. Pattern Anal. Mach. Intell. 12:993).
func together(nets []*perceptron) *perceptron {
	all := *nets[0]
	all.hidden, all.w1, all.w2 = 0, nil, nil
	for _, n := range nets {
		all.hidden += n.hidden
		all.w1 = append(all.w1, n.w1...)
	}
	share := 1 / float64(len(nets))
	for c := range 4 {
		bias := 0.0
		for _, n := range nets {
			w := n.w2[c*(n.hidden+1) : (c+1)*(n.hidden+1)]
			for _, v := range w[:n.hidden] {
				all.w2 = append(all.w2, v*share)
			}
			bias += w[n.hidden] * share
		}
		all.w2 = append(all.w2, bias)
	}
	return &all
}
