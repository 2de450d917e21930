package pipeline

import (
	"context"
	"errors"
	"math"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"gristmark/internal/intake"
	"gristmark/internal/result"
)

func TestRun(t *testing.T) {
	dir := season(t)
	var n atomic.Int64
	files := []string{filepath.Join(dir, "a/1.png"), filepath.Join(dir, "b/bad.jpg"), filepath.Join(dir, "a/again.png"), filepath.Join(dir, "a/2.png")}
	o, err := fake(&n).Run(t.Context(), files, DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	p := o.Document.Photos
	if len(p) != 4 || o.Refused() != 1 || p[1].Status != result.Refused || p[1].Particles == nil || len(p[1].Particles) != 0 {
		t.Errorf("photos %+v", p)
	}
	if p[2].DuplicateOf != files[0] || p[0].DuplicateOf != "" || p[3].DuplicateOf != "" {
		t.Errorf("duplicates: %q, %q, %q", p[0].DuplicateOf, p[2].DuplicateOf, p[3].DuplicateOf)
	}
	if p[3].SameSpreadAs != "" {
		t.Error("another spread was pooled")
	}
	if o.Document.Sample.Pieces.N != 60 {
		t.Errorf("%d pieces counted, want those of two photos", o.Document.Sample.Pieces.N)
	}
	if len(o.Document.Assumed) != 4 {
		t.Errorf("assumed %q", o.Document.Assumed)
	}
}

func TestRunOfNothingMeasured(t *testing.T) {
	var n atomic.Int64
	o, err := fake(&n).Run(t.Context(), []string{"gone.jpg"}, DefaultOptions())
	if err != nil || o.Document.Sample != nil || o.Refused() != 1 || o.Document.Photos[0].File != "gone.jpg" {
		t.Errorf("%v, %+v", err, o)
	}
}

// A number that is none is a fault, and so is a panic of a stage; neither passes as a result.
func TestFaultsOfStages(t *testing.T) {
	file := filepath.Join(season(t), "a/1.png")
	for name, spoil := range map[string]func(f *Frame) error{
		"particle": func(f *Frame) error { f.Photo.Particles[3].AreaMM2 = math.NaN(); return nil },
		"scale":    func(f *Frame) error { f.Photo.Scale.MMPerPx = math.Inf(1); return nil },
		"check": func(f *Frame) error {
			f.Photo.Checks = []result.Check{{Name: "x", Value: math.NaN()}}
			return nil
		},
		"panic": func(*Frame) error { panic("out of range") },
		"error": func(*Frame) error { return errors.New("no memory") },
	} {
		var n atomic.Int64
		s := fake(&n)
		measure := s.Measure
		s.Measure = func(in *intake.Intake, opt Options) (*Frame, error) {
			f, _ := measure(in, opt)
			return f, spoil(f)
		}
		if _, err := s.Run(t.Context(), []string{file}, DefaultOptions()); err == nil || !strings.HasPrefix(err.Error(), "pipeline: ") {
			t.Errorf("%s: got error %v", name, err)
		}
	}
}

func TestParallel(t *testing.T) {
	for _, workers := range []int{1, 3, 50} {
		var n atomic.Int64
		if err := parallel(t.Context(), 20, workers, func(int) error { n.Add(1); return nil }); err != nil || n.Load() != 20 {
			t.Errorf("%d workers: %d done, %v", workers, n.Load(), err)
		}
		n.Store(0)
		stop := errors.New("stop")
		// Jobs after the failing one wait a while for it, or idle jobs could all be done before it is looked at.
		failed := make(chan struct{})
		err := parallel(t.Context(), 1000, workers, func(i int) error {
			n.Add(1)
			if i == 5 {
				time.AfterFunc(50*time.Millisecond, func() { close(failed) })
				return stop
			}
			if i > 5 {
				<-failed
			}
			return nil
		})
		if !errors.Is(err, stop) || n.Load() == 1000 {
			t.Errorf("%d workers: %d done, %v", workers, n.Load(), err)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	err := parallel(ctx, 1000, 2, func(i int) error {
		if i == 3 {
			cancel()
		}
		return nil
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	if err := parallel(t.Context(), 2, 2, func(int) error { panic("x") }); err == nil {
		t.Error("a panic was no error")
	}
}

func TestRoundPitch(t *testing.T) {
	for _, c := range [][2]float64{{30, 20}, {20, 20}, {19.9, 10}, {9, 5}, {4.9, 2}, {1.5, 1}, {70, 50}} {
		if got := roundPitch(c[0]); math.Abs(got-c[1]) > 1e-9 {
			t.Errorf("roundPitch(%v) = %v, want %v", c[0], got, c[1])
		}
	}
}
