package harvest

import "sync"

// watchers are those who wait for a load to change.
type watchers struct {
	mu   sync.Mutex
	load map[int64]map[chan struct{}]bool
}

// Watch returns a channel that wakes when a load changes, and a function that ends the watching. Several
// changes in a row may wake it once. It hears of changes made in this process.
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
