package vision

import (
	"math/rand/v2"
	"slices"
	"testing"
)

func TestRankedIsThatOfSorting(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for n := 1; n < 400; n++ {
		v, kinds := make([]float64, n), 1+rng.IntN(2*n)
		for i := range v {
			v[i] = float64(rng.IntN(kinds))
		}
		sorted := slices.Sorted(slices.Values(v))
		for _, k := range []int{0, n / 2, n - 1, rng.IntN(n)} {
			if got := ranked(slices.Clone(v), k); got != sorted[k] {
				t.Fatalf("place %d of %v: %v, want %v", k, v, got, sorted[k])
			}
		}
	}
}
