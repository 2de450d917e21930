package pipeline

import (
	"context"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/fsnotify/fsnotify"
)

// FileState tells one state of a file from another without reading it.
type FileState struct {
	Bytes   int64
	Changed int64 // ns since 1970
}

// Watcher tells when the photos of a folder have changed and come to rest. It looks at the folder every few seconds, and sooner where the
// system reports a change; folders on a network seldom do.
type Watcher struct {
	Notices bool // the system reports changes

	folder string
	tables []string // files that count too
	rest   resting
	last   map[string]FileState
	first  bool
	poll   time.Duration
	notify *fsnotify.Watcher
}

// NewWatcher watches a folder, and tables beside it. A file has come to rest when it stayed as it is for the time settle: a photo that a phone is still
// sending is none yet.
func NewWatcher(folder string, tables []string, settle time.Duration) *Watcher {
	w := &Watcher{folder: folder, tables: tables, rest: resting{settle: settle}, first: true, poll: max(2*time.Second, settle)}
	var err error
	if w.notify, err = fsnotify.NewWatcher(); err == nil {
		w.Notices = w.notify.Add(folder) == nil
	}
	return w
}

// Close frees what the system holds for the watcher.
func (w *Watcher) Close() {
	if w.notify != nil {
		w.notify.Close()
	}
}

// Next waits until the files at rest are others than the last time, and returns the photos among them by their paths within the folder. The
// first call returns once everything that lies there has come to rest. The error is that of the folder or the context.
func (w *Watcher) Next(ctx context.Context) (map[string]FileState, error) {
	for {
		files, err := w.look()
		if err != nil {
			return nil, err
		}
		now := time.Now()
		still, due := w.rest.step(files, now)
		for name := range files { // what is written anew counts as before until it has come to rest
			if old, was := w.last[name]; was {
				if _, at := still[name]; !at {
					still[name] = old
				}
			}
		}
		if (!w.first || due.IsZero()) && (w.last == nil || !maps.Equal(still, w.last)) {
			w.first, w.last = false, still
			return w.photos(still), nil
		}
		wait := w.poll
		if !due.IsZero() {
			wait = min(wait, max(due.Sub(now), 10*time.Millisecond))
		}
		if err := w.sleep(ctx, wait); err != nil {
			return nil, err
		}
	}
}

// sleep until the time is over, something is reported, or the context ends. Reports come in bursts: a breath is taken after one.
func (w *Watcher) sleep(ctx context.Context, wait time.Duration) error {
	var events chan fsnotify.Event
	var errs chan error
	if w.notify != nil {
		events, errs = w.notify.Events, w.notify.Errors
	}
	timer, soon := time.NewTimer(wait), false
	defer timer.Stop()
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-timer.C:
			return nil
		case <-errs: // reports were lost; looking makes up for it
		case _, open := <-events:
			if !open {
				events = nil
				continue
			}
			if !soon { // but once: a file that is written for long reports all the while
				soon = true
				timer.Reset(min(wait, 100*time.Millisecond))
			}
		}
	}
}

// look lists photos and tables with their states, and asks for reports on new sub-folders.
func (w *Watcher) look() (map[string]FileState, error) {
	names, err := photosIn(w.folder)
	if err != nil {
		return nil, err
	}
	files := map[string]FileState{}
	for _, name := range names {
		path := filepath.Join(w.folder, filepath.FromSlash(name))
		if m, ok := stateOf(path); ok {
			files[name] = m
		}
	}
	for _, table := range w.tables {
		if m, ok := stateOf(table); ok {
			files[tableKey+table] = m
		}
	}
	if w.Notices {
		w.watchFolders()
	}
	return files, nil
}

// tableKey begins what no path within a folder begins with.
const tableKey = "/"

func (w *Watcher) photos(still map[string]FileState) map[string]FileState {
	out := maps.Clone(still)
	maps.DeleteFunc(out, func(name string, _ FileState) bool { return strings.HasPrefix(name, tableKey) })
	return out
}

func (w *Watcher) watchFolders() {
	_ = filepath.WalkDir(w.folder, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil || !d.IsDir():
			return nil
		case path != w.folder && strings.HasPrefix(d.Name(), "."):
			return fs.SkipDir
		}
		if w.notify.Add(path) != nil { // too many for the system: looking every few seconds does
			w.Notices = false
			return fs.SkipAll
		}
		return nil
	})
}

func stateOf(path string) (FileState, bool) {
	info, err := os.Stat(path)
	if err != nil || !info.Mode().IsRegular() {
		return FileState{}, false
	}
	return FileState{info.Size(), info.ModTime().UnixNano()}, true
}

// resting knows since when files are as they are.
type resting struct {
	settle time.Duration
	seen   map[string]since
}

type since struct {
	state FileState
	at    time.Time
}

// step takes the files as they are now. It returns those that have stayed so for long enough, and when the next one will have; zero where
// all have.
func (r *resting) step(files map[string]FileState, now time.Time) (still map[string]FileState, due time.Time) {
	seen := map[string]since{}
	still = map[string]FileState{}
	for name, state := range files {
		s, known := r.seen[name]
		if !known || s.state != state {
			s = since{state, now}
		}
		seen[name] = s
		if at := s.at.Add(r.settle); !at.After(now) {
			still[name] = state
		} else if due.IsZero() || at.Before(due) {
			due = at
		}
	}
	r.seen = seen
	return still, due
}
