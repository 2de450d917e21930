package descent

// Layers are the weights of a perceptron with one hidden layer, flat: a row a unit, its bias last.
type Layers struct {
	Hidden        int       // units of the hidden layer
	First, Second []float64 // rows of the hidden units, and of the outputs
}

// Together is the one perceptron whose log odds are the mean of those given: their hidden units side by side. What one
// of them learned by chance the others do not share (Hansen and Salamon 1990, IEEE Trans. Pattern Anal. Mach. Intell. 12:993).
func Together(nets []Layers, outputs int) (all Layers) {
	for _, n := range nets {
		all.Hidden += n.Hidden
		all.First = append(all.First, n.First...)
	}
	share := 1 / float64(len(nets))
	for c := range outputs {
		bias := 0.0
		for _, n := range nets {
			row := n.Second[c*(n.Hidden+1) : (c+1)*(n.Hidden+1)]
			for _, w := range row[:n.Hidden] {
				all.Second = append(all.Second, w*share)
			}
			bias += row[n.Hidden] * share
		}
		all.Second = append(all.Second, bias)
	}
	return all
}
