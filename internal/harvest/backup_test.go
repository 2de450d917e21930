package harvest

import (
	"archive/tar"
	"bytes"
	"context"
	"errors"
	"io"
	"math/rand/v2"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"gristmark/internal/result"
)

// filled gives a log something of everything.
func (r *rig) filled() {
	t := r.t
	r.joined("Cleo Crew", Crew)
	token, _ := must2(r.adviser.AddCrewLink(r.ctx, r.harvest.ID, "Wagon 3", 24*time.Hour))(t)
	phone := r.Desk(must(r.CrewLink(r.ctx, token))(t))
	must2(r.adviser.AddToken(r.ctx, "script", time.Hour))(t)
	must(r.adviser.Invite(r.ctx, r.farm.ID, Reader, time.Hour))(t)
	dm := 34.25
	load := r.load(Settings{Field: "Größe \"7\"; DROP TABLE load;--", DMPct: &dm, Note: "two\nlines ☂"})
	photo := r.upload(load.ID, "a", "photo one")
	r.upload(load.ID, "b", "refuse this")
	r.upload(load.ID, "c", "error here")
	must(r.adviser.AddTyped(r.ctx, load.ID, TypedSieve, map[string]string{"text": "sieve,mass_g\n19,5\n"}))(t)
	stop := r.measuring(&fake{version: "1"})
	r.settle()
	stop()
	must(r.adviser.Correct(r.ctx, photo.ID, 1, result.Stover))(t)
	if _, _, err := phone.Upload(r.ctx, load.ID, "not measured yet", "späte.jpg", strings.NewReader("photo two"), 0); err != nil {
		t.Fatal(err)
	}
}

func (r *rig) backup() []byte {
	r.t.Helper()
	var buf bytes.Buffer
	if err := r.Backup(r.ctx, &buf); err != nil {
		r.t.Fatal(err)
	}
	return buf.Bytes()
}

// parts reads a backup into its parts; that of the manifest, which holds the time, is left out.
func parts(t *testing.T, backup []byte) map[string]string {
	t.Helper()
	out := map[string]string{}
	for files := tar.NewReader(bytes.NewReader(backup)); ; {
		head, err := files.Next()
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		if data := must(io.ReadAll(files))(t); !strings.HasPrefix(head.Name, "manifest") {
			out[head.Name] = string(data)
		}
	}
}

func same(t *testing.T, a, b map[string]string) {
	t.Helper()
	for name, was := range a {
		if is, ok := b[name]; !ok || is != was {
			t.Errorf("%s differs:\n%.600s\n%.600s", name, was, is)
		}
	}
	if len(a) != len(b) {
		t.Errorf("%d parts became %d", len(a), len(b))
	}
}

// TestBackupGoesFromEngineToEngine carries a log from SQLite to PostgreSQL and back, and compares all of it.
func TestBackupGoesFromEngineToEngine(t *testing.T) {
	opt, late := newOptions(t, "sqlite")
	r := rigOf(t, opt, late)
	r.filled()
	first := r.backup()
	if err := Verify(r.ctx, bytes.NewReader(first)); err != nil {
		t.Fatal(err)
	}
	opt2, _ := newOptions(t, "postgres")
	second := restored(t, first, opt2, late)
	same(t, parts(t, first), parts(t, second.backup()))
	opt3, _ := newOptions(t, "sqlite")
	third := restored(t, second.backup(), opt3, late)
	same(t, parts(t, first), parts(t, third.backup()))

	for _, r := range []*rig{second, third} { // both go on working: new ids are free, and what waited is measured
		r.load(Settings{})
		r.measuring(&fake{version: "1"})
		r.settle()
		if s := must(r.Queue(r.ctx))(t); s != (Stats{Failed: 1}) {
			t.Errorf("after the restore the queue holds %+v", s)
		}
		must(r.SignIn(r.ctx, "Ada Adviser", adviserPassword))(t)
		if err := Restore(r.ctx, bytes.NewReader(first), r.opt); !errors.Is(err, ErrInput) {
			t.Errorf("a restore into a log with entries: %v", err)
		}
	}
}

func restored(t *testing.T, backup []byte, opt Options, late *clock) *rig {
	t.Helper()
	if err := Restore(t.Context(), bytes.NewReader(backup), opt); err != nil {
		t.Fatal(err)
	}
	r := &rig{t: t, ctx: t.Context(), opt: opt, late: late}
	r.Log = must(Open(r.ctx, opt))(t)
	t.Cleanup(func() { _ = r.Close(context.Background()) })
	who := must(r.SignIn(r.ctx, "Ada Adviser", adviserPassword))(t)
	r.adviser = r.Desk(who)
	r.farm = must(r.adviser.Farms(r.ctx))(t)[0]
	r.harvest = must(r.adviser.Harvests(r.ctx, 0))(t)[0]
	return r
}

// TestABackupThatCannotBeWritten says so, and not that the log is at fault.
func TestABackupThatCannotBeWritten(t *testing.T) {
	opt, late := newOptions(t, "sqlite")
	r := rigOf(t, opt, late)
	r.filled()
	whole := len(r.backup())
	for room := 0; room < whole; room += whole/7 + 1 {
		err := r.Backup(r.ctx, &narrow{room: room})
		if !errors.Is(err, ErrStorage) || !strings.Contains(err.Error(), "the backup cannot be written") {
			t.Errorf("with room for %d of %d bytes: %v", room, whole, err)
		}
	}
}

// narrow takes so many bytes and no more.
type narrow struct{ room int }

func (n *narrow) Write(p []byte) (int, error) {
	if n.room -= len(p); n.room < 0 {
		return 0, syscall.ENOSPC
	}
	return len(p), nil
}

// TestAFlippedBitIsNoticed flips single bits all over a backup: each is noticed, or lies in what a tar fills up with.
func TestAFlippedBitIsNoticed(t *testing.T) {
	opt, late := newOptions(t, "sqlite")
	r := rigOf(t, opt, late)
	r.filled()
	good := r.backup()
	want := parts(t, good)
	chance := rand.New(rand.NewPCG(6, 6))
	noticed := 0
	for range 400 {
		bad := slices.Clone(good)
		bad[chance.IntN(len(bad))] ^= 1 << chance.IntN(8)
		if err := Verify(r.ctx, bytes.NewReader(bad)); err != nil {
			noticed++
			continue
		}
		same(t, want, parts(t, bad))
	}
	if noticed < 100 {
		t.Errorf("of 400 flipped bits %d were noticed", noticed)
	}
	for _, cut := range []int{0, 1, 1000, len(good) / 2, len(good) - 3000} {
		if err := Verify(r.ctx, bytes.NewReader(good[:cut])); !errors.Is(err, ErrBackup) {
			t.Errorf("a backup of %d bytes instead of %d: %v", cut, len(good), err)
		}
	}
}

// TestABrokenBackupLeavesNothing restores a backup with one wrong byte in a photo.
func TestABrokenBackupLeavesNothing(t *testing.T) {
	onBoth(t, func(t *testing.T, r *rig) {
		r.filled()
		bad := bytes.Replace(r.backup(), []byte("photo one"), []byte("photo 0ne"), 1)
		opt, late := newOptions(t, strings.SplitN(t.Name(), "/", 2)[1])
		if err := Restore(r.ctx, bytes.NewReader(bad), opt); !errors.Is(err, ErrBackup) {
			t.Fatalf("a wrong byte: %v", err)
		}
		empty := rigOf(t, opt, late) // makes the first account: nothing of the backup is there
		late.add(2 * orphanAge)
		if n := must(empty.Sweep(r.ctx))(t); n != 0 {
			t.Errorf("the broken backup left %d files", n)
		}
	})
}
