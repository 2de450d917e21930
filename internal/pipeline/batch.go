package pipeline

import (
	"context"
	"path/filepath"
	"sync"

	"gristmark/internal/intake"
)

// Work is a folder of samples to measure.
type Work struct {
	Folder  string
	Samples []Batch
	Store   Store
	Options Options

	// Photo is told of each photo when it is measured or was found again; calls do not overlap.
	Photo func(sample int, f *Frame, again bool)
	// Sample gets each sample once all its photos are there; calls may overlap. The frames' pictures are to be
	// had from the store.
	Sample func(sample int, o *Outcome) error
}

// Batch measures the samples of a folder, several photos at once, and hands each sample over when it is complete.
// Memory holds the photos of the samples in work only. The error is a fault, or the context's.
func (s Stages) Batch(ctx context.Context, w Work) error {
	type place struct{ sample, photo int }
	var places []place
	frames := make([][]*Frame, len(w.Samples))
	left := make([]int, len(w.Samples))
	for i, b := range w.Samples {
		frames[i], left[i] = make([]*Frame, len(b.Photos)), len(b.Photos)
		for k := range b.Photos {
			places = append(places, place{i, k})
		}
	}
	var mu sync.Mutex
	return parallel(ctx, len(places), w.Options.Workers, func(n int) error {
		p := places[n]
		f, again, err := s.keptPhoto(w, w.Samples[p.sample].Photos[p.photo])
		if err != nil {
			return err
		}
		mu.Lock()
		w.Photo(p.sample, f, again)
		frames[p.sample][p.photo] = f
		left[p.sample]--
		complete := left[p.sample] == 0
		mu.Unlock()
		if !complete {
			return nil
		}
		o := s.Sample(frames[p.sample], w.Options)
		frames[p.sample] = nil
		return w.Sample(p.sample, o)
	})
}

// keptPhoto takes a photo from the store, or measures it and keeps it there. Its picture stays in the store.
func (s Stages) keptPhoto(w Work, name string) (f *Frame, again bool, err error) {
	path := filepath.Join(w.Folder, filepath.FromSlash(name))
	sha := intake.Hash(path)
	if sha != "" {
		f = w.Store.load(sha, w.Options)
	}
	if again = f != nil; !again {
		if f, err = s.Photo(path, w.Options); err != nil {
			return nil, false, err
		}
		if f.Photo.SHA256 != "" {
			if err := w.Store.save(f, w.Options); err != nil {
				return nil, false, err
			}
		}
		f.Picture = nil
	}
	f.Photo.File = name
	return f, again, nil
}
