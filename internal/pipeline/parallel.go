package pipeline

import (
	"context"
	"fmt"
	"runtime/debug"
	"sync"
)

// parallel calls do(0) … do(n-1), at most workers at once, in order of their start. It stops starting
// after the first error or when the context ends, and returns that error.
func parallel(ctx context.Context, n, workers int, do func(int) error) error {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	next := make(chan int)
	var wg sync.WaitGroup
	for range max(1, min(workers, n)) {
		wg.Go(func() {
			for i := range next {
				if err := guarded(do, i); err != nil {
					cancel(err)
				}
			}
		})
	}
feed:
	for i := range n {
		select {
		case <-ctx.Done():
			break feed
		case next <- i:
		}
	}
	close(next)
	wg.Wait()
	return context.Cause(ctx)
}

// guarded turns a panic into an error, which a panic of another goroutine could not be any more.
func guarded(do func(int) error, i int) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("pipeline: a fault of the program: %v\n%s", r, debug.Stack())
		}
	}()
	return do(i)
}
