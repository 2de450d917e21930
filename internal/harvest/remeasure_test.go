package harvest

import (
	"testing"

	"gristmark/internal/result"
)

func TestRemeasuringKeepsTheOld(t *testing.T) { onBoth(t, remeasuring) }

func remeasuring(t *testing.T, r *rig) {
	load := r.load(Settings{})
	photo := r.upload(load.ID, "k", "photo")
	blurred := r.upload(load.ID, "l", "refuse")
	stop := r.measuring(&fake{version: "1"})
	r.settle()
	must(r.adviser.Correct(r.ctx, photo.ID, 1, result.Stover))(t)      // the whole kernel at (50, 60)
	must(r.adviser.Correct(r.ctx, photo.ID, 2, result.WholeKernel))(t) // the broken kernel at (100, 60)
	if n := must(r.adviser.Remeasure(r.ctx, r.harvest.ID))(t); n != 0 {
		t.Errorf("%d photos are measured again by the same version", n)
	}
	stop()

	// The next version sees the pieces 4 px (0.8 mm) aside and numbers them otherwise.
	stop = r.measuring(&fake{version: "2", shift: 4})
	if n := must(r.adviser.Remeasure(r.ctx, r.harvest.ID))(t); n != 2 {
		t.Errorf("%d photos are measured again", n)
	}
	r.settle()
	old := must(r.adviser.Measurements(r.ctx, photo.ID))(t)
	if len(old) != 2 || old[0].Version != "2" || old[1].Version != "1" {
		t.Fatalf("measurements: %+v", old)
	}
	if old[1].Photo.Particles[0].AtPx != (result.XY{50, 60}) {
		t.Error("the old measurement changed")
	}
	c := must(r.adviser.Corrections(r.ctx, load.ID))(t)
	if len(c) != 2 || c[0].ID != 2 || c[0].Class != result.WholeKernel || c[1].ID != 3 || c[1].Class != result.Stover {
		t.Errorf("corrections did not follow their pieces: %+v", c)
	}
	if k := must(r.adviser.Load(r.ctx, load.ID))(t).Document.Sample.Kernels; k.Whole != 1 || k.Broken != 0 {
		t.Errorf("the new judgement counts %d whole, %d broken", k.Whole, k.Broken)
	}
	if n := len(must(r.adviser.Measurements(r.ctx, blurred.ID))(t)); n != 2 {
		t.Errorf("the refused photo has %d measurements", n)
	}
	stop()

	// A version that sees them far away takes no correction over.
	r.measuring(&fake{version: "3", shift: 20})
	must(r.adviser.Remeasure(r.ctx, r.harvest.ID))(t)
	r.settle()
	if c := must(r.adviser.Corrections(r.ctx, load.ID))(t); len(c) != 0 {
		t.Errorf("corrections went to other pieces: %+v", c)
	}
	// By hand all of a load is measured again, by the same version too.
	if n := must(r.adviser.RemeasureLoad(r.ctx, load.ID))(t); n != 2 {
		t.Errorf("%d photos of the load are measured again", n)
	}
	r.settle()
	if n := len(must(r.adviser.Measurements(r.ctx, photo.ID))(t)); n != 4 {
		t.Errorf("the photo has %d measurements", n)
	}
}

func TestAPhotoThatEndsTheProgramIsLeftAlone(t *testing.T) { onBoth(t, leftAlone) }

// leftAlone plays a process that is killed while it measures: the job is running, its process gone.
func leftAlone(t *testing.T, r *rig) {
	load := r.load(Settings{})
	photo := r.upload(load.ID, "k", "photo")
	for _, query := range []string{"UPDATE river_job SET state = 'running', attempt = 3", "UPDATE photo SET state = 'measuring'"} {
		if _, err := r.engine.write.ExecContext(r.ctx, query); err != nil {
			t.Fatal(err)
		}
	}
	m := &fake{version: "1"}
	stop := r.measuring(m)
	r.settle()
	if p := must(r.adviser.Photo(r.ctx, photo.ID))(t); p.State != Failed || m.calls.Load() != 0 {
		t.Errorf("a photo that ended the program three times is %s (%s) after %d measurings", p.State, p.Problem, m.calls.Load())
	}
	stop()
	r.measuring(m)
	r.settle()
	if m.calls.Load() != 0 {
		t.Error("the next start tried it again")
	}
	if n := must(r.adviser.Remeasure(r.ctx, r.harvest.ID))(t); n != 1 {
		t.Errorf("by hand %d photos are tried again", n)
	}
	r.settle()
	if p := must(r.adviser.Photo(r.ctx, photo.ID))(t); p.State != Measured {
		t.Errorf("tried again by hand it is %s: %s", p.State, p.Problem)
	}
}
