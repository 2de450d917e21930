package pipeline

import (
	"context"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"
)

func TestResting(t *testing.T) {
	r := resting{settle: 3 * time.Second}
	at := func(s int) time.Time { return time.Unix(int64(1000+s), 0) }
	for _, step := range []struct {
		s     int
		files map[string]FileState
		still string
		due   int // 0: none
	}{
		{0, map[string]FileState{"a": {1, 1}}, "[]", 3},
		{2, map[string]FileState{"a": {2, 2}}, "[]", 5}, // it grew
		{4, map[string]FileState{"a": {2, 2}, "b": {1, 1}}, "[]", 5},
		{5, map[string]FileState{"a": {2, 2}, "b": {1, 1}}, "[a]", 7},
		{6, map[string]FileState{"b": {1, 1}}, "[]", 7},
		{7, map[string]FileState{"a": {2, 2}, "b": {1, 1}}, "[b]", 10}, // a came back
		{11, map[string]FileState{"a": {2, 2}, "b": {1, 1}}, "[a b]", 0},
	} {
		still, due := r.step(step.files, at(step.s))
		if got := fmt.Sprint(slices.Sorted(maps.Keys(still))); got != step.still {
			t.Errorf("after %d s: at rest %s, want %s", step.s, got, step.still)
		}
		if step.due == 0 && !due.IsZero() || step.due != 0 && !due.Equal(at(step.due)) {
			t.Errorf("after %d s: due %v", step.s, due)
		}
	}
}

func TestWatcherWaitsForRest(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) {
		t.Helper()
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	table := filepath.Join(t.TempDir(), "harvest.csv")
	w := NewWatcher(dir, []string{table}, 50*time.Millisecond)
	defer w.Close()
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	defer cancel()
	next := func() string {
		t.Helper()
		files, err := w.Next(ctx)
		if err != nil {
			t.Fatal(err)
		}
		return fmt.Sprint(slices.Sorted(maps.Keys(files)))
	}
	if got := next(); got != "[]" {
		t.Errorf("an empty folder: %s", got)
	}
	write("a.jpg", "half")
	write(".b.jpg.part", "hidden")
	if got := next(); got != "[a.jpg]" {
		t.Errorf("a photo came: %s", got)
	}
	write("new/deep/c.jpg", "of a sub-folder")
	if got := next(); got != "[a.jpg new/deep/c.jpg]" {
		t.Errorf("one came in a new sub-folder: %s", got)
	}
	if err := os.WriteFile(table, []byte("load\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if got := next(); got != "[a.jpg new/deep/c.jpg]" {
		t.Errorf("the table came: %s", got)
	}
	cancel()
	if _, err := w.Next(ctx); err == nil {
		t.Error("it goes on though the context has ended")
	}
}

// Where the system reports nothing, looking every so often does; and one file that is written without end holds up no other.
func TestWatcherOfABusyFolder(t *testing.T) {
	for _, reports := range []bool{true, false} {
		dir := t.TempDir()
		w := NewWatcher(dir, nil, 100*time.Millisecond)
		if !reports {
			w.Close()
			w.notify, w.Notices, w.poll = nil, false, 20*time.Millisecond
		}
		watchBusy(t, dir, w)
		w.Close()
	}
}

func watchBusy(t *testing.T, dir string, w *Watcher) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	defer cancel()
	if _, err := w.Next(ctx); err != nil {
		t.Fatal(err)
	}
	busy, stop := make(chan error, 1), make(chan struct{})
	go func() {
		f, err := os.Create(filepath.Join(dir, "busy.jpg"))
		for n := 0; err == nil; n++ {
			select {
			case <-stop:
				busy <- f.Close()
				return
			case <-time.After(10 * time.Millisecond):
				_, err = f.WriteString("more")
			}
		}
		busy <- err
	}()
	time.Sleep(50 * time.Millisecond)
	if err := os.WriteFile(filepath.Join(dir, "a.jpg"), []byte("whole"), 0o666); err != nil {
		t.Fatal(err)
	}
	files, err := w.Next(ctx)
	if _, ok := files["a.jpg"]; err != nil || !ok {
		t.Errorf("%v, %v", files, err)
	}
	close(stop)
	if err := <-busy; err != nil {
		t.Error(err)
	}
}
