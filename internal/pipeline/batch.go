package pipeline

import (
	"context"
	"path/filepath"
	"sync"

	"gristmark/internal/harvestfile"
	"gristmark/internal/intake"
	"gristmark/internal/result"
)

// Work is a folder of samples to measure.
type Work struct {
	Folder  string
	Samples []Batch
	Store   Store
	Options Options

	// For gives the options of one sample, which may differ from Options in how it is judged; nil: Options for all.
	For func(sample int) Options

	// Photo is told of each photo when it is measured or was found again; calls do not overlap.
	Photo func(sample int, f *Frame, again bool)
	// Sample gets each sample once all its photos are there; calls may overlap. Its frames are without their outlines in
	// the photo, marks and pictures, which are to be had from the store.
	Sample func(sample int, o *Outcome) error
	// Fault is told of a photo on which the program failed, which is then refused and not kept; calls do not overlap. Nil: such a
	// fault ends the batch.
	Fault func(photo string, err error)
}

func (w Work) options(sample int) Options {
	if w.For != nil {
		return w.For(sample)
	}
	return w.Options
}

// Batch measures the samples of a folder, several photos at once, and hands each sample over when it is complete.
// Memory holds the photos in work, and the measures of the samples in work only. The error is a fault, or the context's.
func (s Stages) Batch(ctx context.Context, w Work) error {
	type place struct{ sample, photo int }
	var places []place
	frames := make([][]*Frame, len(w.Samples))
	left := make([]int, len(w.Samples))
	for i, b := range w.Samples {
		left[i] = len(b.Photos)
		for k := range b.Photos {
			places = append(places, place{i, k})
		}
	}
	var mu sync.Mutex
	return parallel(ctx, len(places), w.Options.Workers, func(n int) error {
		p := places[n]
		f, again, fault, err := s.keptPhoto(w, p.sample, p.photo)
		if err != nil {
			return err
		}
		mu.Lock()
		if fault != nil {
			w.Fault(f.Photo.File, fault)
		}
		w.Photo(p.sample, f, again)
		if frames[p.sample] == nil {
			frames[p.sample] = make([]*Frame, len(w.Samples[p.sample].Photos))
		}
		frames[p.sample][p.photo] = f
		left[p.sample]--
		complete := left[p.sample] == 0
		mu.Unlock()
		if !complete {
			return nil
		}
		o := s.Sample(frames[p.sample], w.options(p.sample))
		o.Document.Settings = w.told(p.sample)
		frames[p.sample] = nil
		return w.Sample(p.sample, o)
	})
}

// told is what is known of a sample, nil where nothing is.
func (w Work) told(sample int) *result.Settings {
	told := w.Samples[sample].Settings.Over(harvestfile.FromContext(w.options(sample).Context))
	if told.IsZero() {
		return nil
	}
	return &told
}

// keptPhoto takes a photo from the store, or measures it and keeps it there. Its picture and outlines stay in the store.
func (s Stages) keptPhoto(w Work, sample, photo int) (f *Frame, again bool, fault, err error) {
	name, opt := w.Samples[sample].Photos[photo], w.options(sample)
	if why, refused := w.Samples[sample].Refused[name]; refused {
		f = &Frame{}
		refuse(&f.Photo, why)
		f.Photo.File = name
		return f, false, nil, nil
	}
	path := filepath.Join(w.Folder, filepath.FromSlash(name))
	sha := intake.Hash(path)
	if sha != "" {
		f = w.Store.Frame(sha, opt)
	}
	if again = f != nil; !again {
		f, fault = s.Photo(path, opt)
		switch {
		case fault != nil && w.Fault == nil:
			return nil, false, nil, fault
		case fault != nil:
			f = &Frame{}
			refuse(&f.Photo, "the program failed on this photo, which is its own fault; the photo counts for nothing")
			f.Photo.SHA256 = sha
		case f.Photo.SHA256 != "":
			if err := w.Store.save(f, opt); err != nil {
				return nil, false, nil, err
			}
		}
	}
	f.Photo.File = name
	f.slim()
	return f, again, fault, nil
}

// slim drops what the sample's numbers do not need, so that memory does not grow with the outlines of a large sample.
func (f *Frame) slim() {
	f.spots = spotsOf(f)
	f.Picture, f.OutlineMM, f.Marks, f.Grid = nil, nil, nil, nil
	particles := make([]result.Particle, len(f.Photo.Particles))
	for i, p := range f.Photo.Particles {
		p.OutlinePx, p.OutlineMM = nil, nil
		particles[i] = p
	}
	f.Photo.Particles = particles
}
