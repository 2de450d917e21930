package descent

import (
	"runtime"

	"golang.org/x/sync/errgroup"
)

// Several runs n fits that differ by their seed alone, from first on, as many at a time as there are processors.
func Several[T any](n int, first uint64, fit func(seed uint64) T) []T {
	out := make([]T, n)
	var g errgroup.Group
	g.SetLimit(runtime.NumCPU())
	for k := range out {
		g.Go(func() error {
			out[k] = fit(first + uint64(k))
			return nil
		})
	}
	_ = g.Wait() // a fit does not fail
	return out
}
