package main

import "sync"

// each calls do for 0..n-1, so many at a time, and returns the first error after all have ended.
func each(n, workers int, do func(i int) error) error {
	var wait sync.WaitGroup
	errs := make([]error, n)
	next := make(chan int)
	for range max(1, workers) {
		wait.Go(func() {
			for i := range next {
				errs[i] = do(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wait.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
