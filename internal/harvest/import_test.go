package harvest

import (
	"errors"
	"testing"

	"gristmark/internal/result"
)

// A photo that was measured elsewhere is there at once, judged, and is neither measured again nor taken twice.
func TestImport(t *testing.T) {
	onBoth(t, func(t *testing.T, r *rig) {
		load, m := r.load(Settings{Field: "Long Acre"}), &fake{version: "1"}
		data := []byte("a photo")
		photo, overlay, keep, err := m.MeasurePhoto(r.ctx, "a.jpg", data, load.Settings)
		if err != nil {
			t.Fatal(err)
		}
		in := Imported{Key: "batch a", File: "a.jpg", Data: data, Photo: photo, Overlay: overlay, Keep: keep}
		p, again, err := r.adviser.Import(r.ctx, load.ID, in, m)
		if err != nil || again || p.State != Measured || !p.HasOverlay || p.Result == nil || len(p.Result.Particles) != 3 {
			t.Fatalf("imported %+v, again %v, %v", p, again, err)
		}
		if q, again, err := r.adviser.Import(r.ctx, load.ID, in, m); err != nil || !again || q.ID != p.ID {
			t.Errorf("once more: %s, again %v, %v", q.ID, again, err)
		}
		now := must(r.adviser.Load(r.ctx, load.ID))(t)
		if now.Document == nil || len(now.Photos) != 1 || now.Document.Photos[0].Status != result.Measured {
			t.Errorf("load %+v", now)
		}
		before := m.calls.Load()
		stop := r.measuring(m)
		r.settle()
		stop()
		if m.calls.Load() != before || len(must(r.adviser.Measurements(r.ctx, p.ID))(t)) != 1 {
			t.Error("what was measured elsewhere was measured again")
		}
		if _, _, err := r.joined("Rita Reader", Reader).Import(r.ctx, load.ID, in, m); !errors.Is(err, ErrRight) {
			t.Errorf("a reader imported: %v", err)
		}
		if found := must(r.adviser.LoadNamed(r.ctx, r.harvest.ID, now.Name))(t); found.ID != load.ID {
			t.Errorf("found load %d", found.ID)
		}
		if _, err := r.adviser.LoadNamed(r.ctx, r.harvest.ID, "nowhere"); !errors.Is(err, ErrNone) {
			t.Errorf("a load of no name: %v", err)
		}
	})
}

func TestAccountOfTheMachine(t *testing.T) {
	onBoth(t, func(t *testing.T, r *rig) {
		r.joined("Cleo Crew", Crew)
		for name, want := range map[string]string{"": "Ada Adviser", "cleo  CREW": "Cleo Crew"} {
			if w, err := r.Account(r.ctx, name); err != nil || w.Name != want {
				t.Errorf("%q: %+v, %v", name, w, err)
			}
		}
		if _, err := r.Account(r.ctx, "Eve"); !errors.Is(err, ErrNone) {
			t.Errorf("a stranger: %v", err)
		}
	})
}
