package descent

import (
	"runtime"
	"sync"
)

// Several runs n fits that differ by their seed alone, from first on, as many at a time as there are processors.
func Several[T any](n int, first uint64, fit func(seed uint64) T) []T {
	out := make([]T, n)
	var wg sync.WaitGroup
	gate := make(chan struct{}, runtime.NumCPU())
	for k := range out {
		wg.Go(func() {
			gate <- struct{}{}
			out[k] = fit(first + uint64(k))
			<-gate
		})
	}
	wg.Wait()
	return out
}
