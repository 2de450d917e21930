package pipeline

import (
	"context"
	"encoding/json"
	"errors"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"gristmark/internal/intake"
)

func TestSamples(t *testing.T) {
	dir := season(t)
	top := filepath.Base(dir) + "/."
	for group, want := range map[Group]string{
		ByFolder: "[" + top + ":1 a:3 b:2 b/c:1]",
		ByPhoto:  "[a/1.png:1 a/2.png:1 a/again.png:1 b/1.png:1 b/bad.jpg:1 b/c/1.png:1 top.png:1]",
	} {
		list, err := Samples(dir, group)
		if err != nil || names(list) != want {
			t.Errorf("%s: got %s, %v, want %s", group, names(list), err, want)
		}
	}
}

func TestSampleByName(t *testing.T) {
	for name, want := range map[string]string{
		"load7_2.jpg": "load7", "load7_12.jpg": "load7", "load7-b.jpg": "load7", "load7 (3).jpg": "load7", "load7.jpg": "load7",
		"IMG_4711.jpg": "IMG_4711", "12.jpg": "12", "x/load7_2.jpg": "x/load7",
	} {
		if got := sampleName(name, ByName, "top"); got != want {
			t.Errorf("%s: sample %q, want %q", name, got, want)
		}
	}
}

// batchOf runs the folder and returns each sample's document as JSON.
func batchOf(t *testing.T, ctx context.Context, s Stages, folder, store string, workers int) (map[string]string, error) {
	t.Helper()
	samples, err := Samples(folder, ByFolder)
	if err != nil {
		t.Fatal(err)
	}
	opt := DefaultOptions()
	opt.Workers, opt.Picture = workers, true
	out, mu := map[string]string{}, sync.Mutex{}
	w := Work{Folder: folder, Samples: samples, Store: Store{Dir: store, Version: "v"}, Options: opt,
		Photo: func(int, *Frame, bool) {},
		Sample: func(i int, o *Outcome) error {
			for _, f := range o.Frames {
				if f.HasPicture != (string(Store{Dir: store, Version: "v"}.Picture(f.Photo.SHA256, opt)) == "picture of "+f.Photo.SHA256) {
					t.Errorf("%s: its picture is not what was kept", f.Photo.File)
				}
			}
			data, err := json.Marshal(o.Document)
			mu.Lock()
			defer mu.Unlock()
			out[samples[i].Name] = string(data)
			return err
		},
	}
	return out, s.Batch(ctx, w)
}

// Whatever the number of workers, and whether measured or found again, the documents are the same.
func TestBatchIsTheSame(t *testing.T) {
	folder, store := season(t), t.TempDir()
	var n atomic.Int64
	first, err := batchOf(t, t.Context(), fake(&n), folder, store, 1)
	if err != nil || len(first) != 4 {
		t.Fatalf("%d samples, %v", len(first), err)
	}
	if n.Load() != 5 {
		t.Errorf("%d photos measured, want 5: the duplicate is found again, the bad one refused before", n.Load())
	}
	for _, again := range []struct {
		store   string
		workers int
	}{{store, 1}, {store, 4}, {t.TempDir(), 4}} {
		got, err := batchOf(t, t.Context(), fake(&n), folder, again.store, again.workers)
		if err != nil {
			t.Fatal(err)
		}
		for name, doc := range first {
			if got[name] != doc {
				t.Errorf("%+v: sample %s differs:\n%s\n%s", again, name, got[name], doc)
			}
		}
	}
}

// Whatever the order in which photos come to be done, the documents are the same.
func TestBatchInAnyOrder(t *testing.T) {
	folder := season(t)
	var n atomic.Int64
	first, err := batchOf(t, t.Context(), fake(&n), folder, t.TempDir(), 1)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	var mu sync.Mutex
	for range 5 {
		s := fake(&n)
		measure := s.Measure
		s.Measure = func(in *intake.Intake, opt Options) (*Frame, error) {
			mu.Lock()
			wait := time.Duration(rng.IntN(20)) * time.Millisecond
			mu.Unlock()
			time.Sleep(wait)
			return measure(in, opt)
		}
		got, err := batchOf(t, t.Context(), s, folder, t.TempDir(), 7)
		if err != nil || !maps.Equal(got, first) {
			t.Errorf("other documents, or %v", err)
		}
	}
}

// A photo on which the program fails is refused and told of, the others are done, and it is tried again the next time.
func TestOneFaultStopsNothing(t *testing.T) {
	folder, store := season(t), Store{Dir: t.TempDir(), Version: "v"}
	samples, err := Samples(folder, ByFolder)
	if err != nil {
		t.Fatal(err)
	}
	var n atomic.Int64
	for round, want := range []int{1, 0} {
		s := fake(&n)
		measure := s.Measure
		s.Measure = func(in *intake.Intake, opt Options) (*Frame, error) {
			if round == 0 && filepath.Base(in.File) == "2.png" {
				panic("fault")
			}
			return measure(in, opt)
		}
		var faults, done, refused atomic.Int64
		err := s.Batch(t.Context(), Work{Folder: folder, Samples: samples, Store: store, Options: DefaultOptions(),
			Photo: func(_ int, f *Frame, again bool) {
				if filepath.Base(f.Photo.File) == "2.png" {
					if again {
						t.Error("what failed was kept")
					}
					if f.Photo.Problem != nil {
						refused.Add(1)
					}
				}
			},
			Sample: func(int, *Outcome) error { done.Add(1); return nil },
			Fault:  func(string, error) { faults.Add(1) },
		})
		if err != nil || done.Load() != int64(len(samples)) || faults.Load() != int64(want) || refused.Load() != int64(want) {
			t.Errorf("round %d: %d samples done, %d faults, %d refused, %v", round, done.Load(), faults.Load(), refused.Load(), err)
		}
	}
}

// Cut off after two photos, the second run measures the others only.
func TestBatchGoesOn(t *testing.T) {
	folder, store := season(t), t.TempDir()
	ctx, cancel := context.WithCancel(t.Context())
	var n atomic.Int64
	s := fake(&n)
	measure := s.Measure
	cut := s
	cut.Measure = func(in *intake.Intake, opt Options) (*Frame, error) {
		if n.Load() == 1 {
			cancel()
		}
		return measure(in, opt)
	}
	if _, err := batchOf(t, ctx, cut, folder, store, 1); !errors.Is(err, context.Canceled) {
		t.Fatalf("cut off: %v", err)
	}
	before := n.Load()
	got, err := batchOf(t, t.Context(), s, folder, store, 1)
	if err != nil || len(got) != 4 || before < 2 || n.Load() != 5 {
		t.Errorf("%v; %d samples, %d photos measured before the cut, %d in all", err, len(got), before, n.Load())
	}
}

func TestStoreKnowsWhatItKept(t *testing.T) {
	s := Store{Dir: t.TempDir(), Version: "v"}
	opt := DefaultOptions()
	f := &Frame{}
	f.Photo.SHA256, f.Photo.Status = "abc", "measured"
	if err := s.save(f, opt); err != nil {
		t.Fatal(err)
	}
	if s.Frame("abc", opt) == nil {
		t.Error("a kept frame was not found")
	}
	kernels, other := opt, s
	kernels.Show, other.Version = ShowKernels, "w"
	if s.Frame("abc", kernels) != nil || other.Frame("abc", opt) != nil || s.Frame("abd", opt) != nil {
		t.Error("a frame of another option, version or photo was found")
	}
	targets := opt
	targets.Targets.Name = "other"
	if s.Frame("abc", targets) == nil {
		t.Error("targets have nothing to do with measuring")
	}
	path, _ := s.paths(s.key("abc", opt))
	if err := os.Truncate(path, 20); err != nil {
		t.Fatal(err)
	}
	if s.Frame("abc", opt) != nil {
		t.Error("a damaged frame was found")
	}
}
