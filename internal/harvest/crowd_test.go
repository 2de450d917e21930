package harvest

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"gristmark/internal/result"
)

// TestTwentyPhonesAtOnce uploads, corrects and reads from twenty sides while photos are measured.
func TestTwentyPhonesAtOnce(t *testing.T) { onBoth(t, twentyPhones) }

func twentyPhones(t *testing.T, r *rig) {
	token, _ := must2(r.adviser.AddCrewLink(r.ctx, r.harvest.ID, "Crew", time.Hour))(t)
	who := must(r.CrewLink(r.ctx, token))(t)
	r.measuring(&fake{version: "1"})
	shared := r.load(Settings{})
	named := r.upload(shared.ID, "first", "photo")
	r.settle()
	var wait sync.WaitGroup
	for phone := range 20 {
		wait.Go(func() {
			desk := r.Desk(who)
			load, err := desk.AddLoad(r.ctx, Load{HarvestID: r.harvest.ID, Name: fmt.Sprint("Phone ", phone)})
			if err != nil {
				t.Error(err)
				return
			}
			for i := range 3 {
				data := fmt.Sprint("photo ", phone, i, strings.Repeat("x", 50_000))
				if _, _, err := desk.Upload(r.ctx, load.ID, fmt.Sprint(phone, "-", i), "a.jpg", strings.NewReader(data), 0); err != nil {
					t.Error(err)
				}
			}
			// All send one photo under one key, too, and name the same piece.
			if _, _, err := desk.Upload(r.ctx, shared.ID, "the same", "a.jpg", strings.NewReader("photo twice"), 0); err != nil {
				t.Error(err)
			}
			if _, err := desk.Correct(r.ctx, named.ID, 1, result.Stover); err != nil {
				t.Error(err)
			}
			if _, err := desk.Loads(r.ctx, r.harvest.ID, Filter{WithPhotos: true}); err != nil {
				t.Error(err)
			}
		})
	}
	wait.Wait()
	r.settle()
	for _, load := range must(r.adviser.Loads(r.ctx, r.harvest.ID, Filter{WithPhotos: true}))(t) {
		want := 3
		if load.ID == shared.ID {
			want = 2
		}
		if len(load.Photos) != want || load.Document == nil || len(load.Document.Photos) != want {
			t.Errorf("load %q has %d photos, want %d", load.Name, len(load.Photos), want)
		}
	}
	if n := files(t, r.opt.Photos); n != 2*62 { // photo and overlay
		t.Errorf("the store holds %d files of 62 photos", n)
	}
}

// TestTwoProcessesShareAPostgres runs the queue from two sides: each photo is measured once.
func TestTwoProcessesShareAPostgres(t *testing.T) {
	opt, late := newOptions(t, "postgres")
	r := rigOf(t, opt, late)
	load := r.load(Settings{})
	for i := range 30 {
		r.upload(load.ID, fmt.Sprint(i), fmt.Sprint("photo ", i))
	}
	other := &rig{t: t, ctx: r.ctx, opt: opt, Log: must(Open(r.ctx, opt))(t)}
	t.Cleanup(func() { _ = other.Close(context.Background()) })
	r.look = 100 * time.Millisecond
	wake, end := r.Watch(load.ID)
	defer end()
	here, there := &fake{version: "1"}, &fake{version: "1"}
	r.measuring(here)
	other.measuring(there)
	r.settle()
	if n := here.calls.Load() + there.calls.Load(); n != 30 {
		t.Errorf("30 photos were measured %d times", n)
	}
	for range 2 { // the second time nothing but what the other process may have done wakes it
		select {
		case <-wake:
		case <-time.After(10 * time.Second):
			t.Fatal("the watcher of the load is not woken")
		}
	}
	if doc := must(r.adviser.Load(r.ctx, load.ID))(t).Document; len(doc.Photos) != 30 {
		t.Errorf("the load is judged by %d photos", len(doc.Photos))
	}
}
