package harvest

import (
	"errors"
	"strings"
	"testing"

	"gristmark/internal/result"
)

func TestAPhotoFromPhoneToVerdict(t *testing.T) { onBoth(t, fromPhoneToVerdict) }

func fromPhoneToVerdict(t *testing.T, r *rig) {
	dm := 33.5
	load := r.load(Settings{Field: "Long Field", DMPct: &dm})
	photo := r.upload(load.ID, "key-1", "a photo")
	if photo.State != Waiting || photo.By != "Ada Adviser" || len(photo.ID) != 26 || photo.Bytes != 7 {
		t.Errorf("the uploaded photo is %+v", photo)
	}
	again, repeated, err := r.adviser.Upload(r.ctx, load.ID, "key-1", "x.jpg", strings.NewReader("a photo"), 1<<20)
	if err != nil || !repeated || again.ID != photo.ID {
		t.Errorf("the same key gave %v, %v, %v", again.ID, repeated, err)
	}
	wake, end := r.Watch(load.ID)
	defer end()

	r.measuring(&fake{version: "1"})
	r.settle()
	select {
	case <-wake:
	default:
		t.Error("nobody told the watcher of the load")
	}
	got := must(r.adviser.Load(r.ctx, load.ID))(t)
	if len(got.Photos) != 1 || got.Photos[0].State != Measured || !got.Photos[0].HasOverlay || got.Photos[0].Result == nil {
		t.Fatalf("measured photos: %+v", got.Photos)
	}
	if k := got.Document.Sample.Kernels; k.Whole != 1 || k.Broken != 1 {
		t.Errorf("the document counts %d whole, %d broken", k.Whole, k.Broken)
	}
	if s := text(t, must(r.adviser.OpenPhoto(r.ctx, photo.ID))(t)); s != "a photo" {
		t.Errorf("the original reads %q", s)
	}
	if s := text(t, must(r.adviser.OpenOverlay(r.ctx, photo.ID))(t)); s != "overlay of "+photo.SHA256 {
		t.Errorf("the overlay reads %q", s)
	}

	fixed := must(r.adviser.Correct(r.ctx, photo.ID, 1, result.BrokenKernel))(t)
	if k := fixed.Document.Sample.Kernels; k.Whole != 0 || k.Broken != 2 {
		t.Errorf("after the correction it counts %d whole, %d broken", k.Whole, k.Broken)
	}
	if fixed.Photos[0].Result.Particles[0].Class != result.WholeKernel {
		t.Error("the correction reached into the measurement")
	}
	if _, err := r.adviser.Correct(r.ctx, photo.ID, 99, result.Stover); !errors.Is(err, ErrNone) {
		t.Errorf("a piece that is not there: %v", err)
	}
	if c := must(r.adviser.Corrections(r.ctx, load.ID))(t); len(c) != 1 || c[0].ID != 1 || c[0].By != "Ada Adviser" {
		t.Errorf("corrections: %+v", c)
	}
	back := must(r.adviser.Uncorrect(r.ctx, photo.ID, 1))(t)
	if k := back.Document.Sample.Kernels; k.Whole != 1 {
		t.Errorf("taken back it counts %d whole", k.Whole)
	}
}
