package main

// together is the one perceptron whose log odds are the mean of those given: their hidden units side by side.
func together(nets []*perceptron) *perceptron {
	all := *nets[0]
	all.hidden, all.w1, all.w2 = 0, nil, nil
	share, bias := 1/float64(len(nets)), 0.0
	for _, n := range nets {
		all.hidden += n.hidden
		all.w1 = append(all.w1, n.w1...)
		for _, v := range n.w2[:n.hidden] {
			all.w2 = append(all.w2, v*share)
		}
		bias += n.w2[n.hidden] * share
	}
	all.w2 = append(all.w2, bias)
	return &all
}
