package harvest

import (
	"maps"
	"slices"
	"sync"
)

// watchers are those who wait for a load to change.
type watchers struct {
	mu   sync.Mutex
	load map[int64]map[chan struct{}]bool
}

// Watch returns a channel that wakes when a load changes, and a function that ends the watching. Several
// changes in a row may wake it once. Changes by other processes on the same PostgreSQL are not heard of: while Run
// works there it is woken every few seconds to look.
func (l *Log) Watch(loadID int64) (<-chan struct{}, func()) {
	w := &l.watchers
	w.mu.Lock()
	defer w.mu.Unlock()
	ch := make(chan struct{}, 1)
	if w.load == nil {
		w.load = map[int64]map[chan struct{}]bool{}
	}
	if w.load[loadID] == nil {
		w.load[loadID] = map[chan struct{}]bool{}
	}
	w.load[loadID][ch] = true
	return ch, func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		delete(w.load[loadID], ch)
		if len(w.load[loadID]) == 0 {
			delete(w.load, loadID)
		}
	}
}

// wakeAll wakes everybody.
func (w *watchers) wakeAll() {
	w.mu.Lock()
	loads := slices.Collect(maps.Keys(w.load))
	w.mu.Unlock()
	w.wake(loads...)
}

func (w *watchers) wake(loads ...int64) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, id := range loads {
		for ch := range w.load[id] {
			select {
			case ch <- struct{}{}:
			default:
			}
		}
	}
}
