package harvest

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"testing/iotest"
	"time"

	"gocloud.dev/blob"
	"gocloud.dev/blob/driver"
	"gocloud.dev/gcerrors"

	"gristmark/internal/harvest/pgtest"
)

// fullDisk is a bucket on a disk that takes a few bytes and no more.
type fullDisk struct{ driver.Bucket }

func (fullDisk) ErrorCode(error) gcerrors.ErrorCode                          { return gcerrors.Unknown }
func (fullDisk) Close() error                                                { return nil }
func (fullDisk) Delete(context.Context, string, *driver.DeleteOptions) error { return nil }
func (fullDisk) ErrorAs(error, any) bool                                     { return false }
func (fullDisk) NewTypedWriter(context.Context, string, string, *driver.WriterOptions) (driver.Writer, error) {
	return &fullWriter{}, nil
}

type fullWriter struct{ n int }

func (w *fullWriter) Write(p []byte) (int, error) {
	if w.n += len(p); w.n > 1000 {
		return 0, &os.PathError{Op: "write", Path: "photo", Err: syscall.ENOSPC}
	}
	return len(p), nil
}
func (w *fullWriter) Close() error { return nil }

func TestAFullDiskForPhotos(t *testing.T) { onBoth(t, fullDiskForPhotos) }

func fullDiskForPhotos(t *testing.T, r *rig) {
	load := r.load(Settings{})
	good := r.store
	r.store = &store{bucket: blob.NewBucket(fullDisk{})}
	_, _, err := r.adviser.Upload(r.ctx, load.ID, "k", "a.jpg", strings.NewReader(strings.Repeat("x", 200_000)), 0)
	if !errors.Is(err, ErrStorage) || !strings.Contains(err.Error(), "the disk for the photos is full") {
		t.Errorf("a full disk: %v", err)
	}
	r.store = good
	if n := len(must(r.adviser.Load(r.ctx, load.ID))(t).Photos); n != 0 {
		t.Errorf("the log has %d photos of an upload that was not acknowledged", n)
	}
	r.upload(load.ID, "k", "x") // the same key works once there is room
}

func TestAFullDiskForTheDatabase(t *testing.T) {
	opt, late := newOptions(t, "sqlite")
	r := rigOf(t, opt, late)
	load := r.load(Settings{})
	kept := r.upload(load.ID, "before", "photo")
	// As many pages as it has: the engine answers as on a disk that is full.
	var most int
	if err := r.engine.write.QueryRowContext(r.ctx, "PRAGMA max_page_count = 1").Scan(&most); err != nil {
		t.Fatal(err)
	}
	var err error
	for err == nil { // uses up what pages are free
		_, err = r.adviser.AddTyped(r.ctx, load.ID, TypedLab, map[string]string{"note": strings.Repeat("x", maxText)})
	}
	err = nil
	acknowledged := map[string]Photo{"before": kept}
	for n := 0; err == nil && n < 39; n++ {
		key := strings.Repeat("k", n+1) + strings.Repeat("long ", 30)
		var p Photo
		if p, _, err = r.adviser.Upload(r.ctx, load.ID, key, "a.jpg", strings.NewReader("photo"), 0); err == nil {
			acknowledged[key] = p
		}
	}
	if !errors.Is(err, ErrDatabase) || !strings.Contains(err.Error(), "disk of the log's database is full") {
		t.Fatalf("a full database: %v", err)
	}
	if n := len(must(r.adviser.Load(r.ctx, load.ID))(t).Photos); n != len(acknowledged) {
		t.Errorf("the log has %d photos, %d were acknowledged", n, len(acknowledged))
	}
	if _, err := r.engine.write.ExecContext(r.ctx, "PRAGMA max_page_count = 1000000"); err != nil {
		t.Fatal(err)
	}
	r.upload(load.ID, "after", "photo")
	r.measuring(&fake{version: "1"})
	r.settle()
}

func TestALostDatabase(t *testing.T) {
	t.Parallel() // the queue waits longer and longer for a database that is away
	own, err := pgtest.Start()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := own.Stop(); err != nil {
			t.Error(err)
		}
	})
	opt, late := newOptions(t, "sqlite")
	opt.Database = must(own.Database(t.Context()))(t)
	r := rigOf(t, opt, late)
	load := r.load(Settings{})
	kept := r.upload(load.ID, "before", "photo")
	r.look = 200 * time.Millisecond
	r.measuring(&fake{version: "1", pause: 20 * time.Millisecond})
	if err := own.Kill(); err != nil {
		t.Fatal(err)
	}
	_, _, err = r.adviser.Upload(r.ctx, load.ID, "lost", "a.jpg", strings.NewReader("photo"), 0)
	if !errors.Is(err, ErrDatabase) || !strings.Contains(err.Error(), "try again") {
		t.Errorf("a lost database: %v", err)
	}
	if err := r.Ping(r.ctx); !errors.Is(err, ErrDatabase) {
		t.Errorf("ping with a lost database: %v", err)
	}
	if err := own.Restart(); err != nil {
		t.Fatal(err)
	}
	for until := time.Now().Add(20 * time.Second); r.Ping(r.ctx) != nil && time.Now().Before(until); time.Sleep(50 * time.Millisecond) {
	}
	lost := r.upload(load.ID, "lost", "photo")
	r.settle()
	for _, id := range []string{kept.ID, lost.ID} {
		if m := must(r.adviser.Measurements(r.ctx, id))(t); len(m) != 1 {
			t.Errorf("a photo has %d measurements after the database came back", len(m))
		}
	}
}

func TestWhatGoesWrongWithAPhoto(t *testing.T) { onBoth(t, goesWrong) }

func goesWrong(t *testing.T, r *rig) {
	load := r.load(Settings{})
	crash, fails := r.upload(load.ID, "1", "panic"), r.upload(load.ID, "2", "error")
	blurred, good := r.upload(load.ID, "3", "refuse"), r.upload(load.ID, "4", "photo")
	gone := r.upload(load.ID, "5", "photo that vanishes")
	if err := os.RemoveAll(filepath.Join(r.opt.Photos, r.blobOf(gone.ID))); err != nil {
		t.Fatal(err)
	}
	stop := r.measuring(&fake{version: "1"})
	r.settle()
	stop()
	for _, want := range []struct {
		id, state, says string
	}{{crash.ID, Failed, "crashed on this photo"}, {fails.ID, Failed, "out of memory"}, {blurred.ID, Refused, "take it again"},
		{good.ID, Measured, ""}, {gone.ID, Failed, "gone from the store"}} {
		p := must(r.adviser.Photo(r.ctx, want.id))(t)
		if p.State != want.state || !strings.Contains(p.Problem, want.says) || (want.says == "") != (p.Problem == "") {
			t.Errorf("a photo that should be %s is %s: %s", want.state, p.State, p.Problem)
		}
	}
	if doc := must(r.adviser.Load(r.ctx, load.ID))(t).Document; doc == nil || len(doc.Photos) != 2 {
		t.Errorf("the load is judged by %+v", doc)
	}
	// What failed is tried again on the next start, what was measured is not.
	again := &fake{version: "1"}
	r.measuring(again)
	r.settle()
	if n := again.calls.Load(); n != 2 {
		t.Errorf("the next start measured %d photos", n)
	}
}

func (r *rig) blobOf(photo string) (key string) {
	r.t.Helper()
	if err := r.engine.read.QueryRowContext(r.ctx, "SELECT blob FROM photo WHERE id = $1", photo).Scan(&key); err != nil {
		r.t.Fatal(err)
	}
	return key
}

func TestUploadsThatBreakOff(t *testing.T) { onBoth(t, breakOff) }

func breakOff(t *testing.T, r *rig) {
	load := r.load(Settings{})
	for name, c := range map[string]struct {
		from io.Reader
		want error
	}{
		"a sender that breaks off": {io.MultiReader(strings.NewReader("half"), iotest.ErrReader(io.ErrUnexpectedEOF)), ErrInput},
		"too large":                {strings.NewReader(strings.Repeat("x", 1001)), ErrTooLarge},
		"empty":                    {strings.NewReader(""), ErrInput},
	} {
		if _, _, err := r.adviser.Upload(r.ctx, load.ID, name, "a.jpg", c.from, 1000); !errors.Is(err, c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if n := files(t, r.opt.Photos); n != 0 {
		t.Errorf("%d files are left of uploads that broke off", n)
	}
	if _, _, err := r.adviser.Upload(r.ctx, load.ID, "fits", "a.jpg", strings.NewReader(strings.Repeat("x", 1000)), 1000); err != nil {
		t.Errorf("a photo of just the size allowed: %v", err)
	}
}

func files(t *testing.T, dir string) (n int) {
	t.Helper()
	err := filepath.WalkDir(dir, func(_ string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			n++
		}
		return err
	})
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		t.Fatal(err)
	}
	return n
}

func TestSweep(t *testing.T) { onBoth(t, sweeps) }

func sweeps(t *testing.T, r *rig) {
	load := r.load(Settings{})
	p := r.upload(load.ID, "k", "photo")
	r.measuring(&fake{version: "1"})
	r.settle()
	orphan := "photo/" + newToken()
	must(r.store.put(r.ctx, orphan, strings.NewReader("the process ended here"), 0, "x"))(t)
	if n := must(r.Sweep(r.ctx))(t); n != 0 {
		t.Errorf("%d files that may be on their way were swept", n)
	}
	r.late.add(2 * orphanAge)
	r.flying.Store(orphan, true)
	if n := must(r.Sweep(r.ctx))(t); n != 0 {
		t.Errorf("%d files of a slow upload were swept", n)
	}
	r.flying.Delete(orphan)
	if n := must(r.Sweep(r.ctx))(t); n != 1 {
		t.Errorf("%d files were swept", n)
	}
	text(t, must(r.adviser.OpenPhoto(r.ctx, p.ID))(t))
	text(t, must(r.adviser.OpenOverlay(r.ctx, p.ID))(t))
	if err := r.adviser.DropLoad(r.ctx, load.ID); err != nil {
		t.Fatal(err)
	}
	if n := files(t, r.opt.Photos); n != 0 {
		t.Errorf("a deleted load leaves %d files", n)
	}
}

func TestOneProcessServesASQLiteLog(t *testing.T) {
	opt, late := newOptions(t, "sqlite")
	r := rigOf(t, opt, late)
	r.measuring(&fake{version: "1"})
	second := must(Open(r.ctx, opt))(t)
	defer second.Close(context.Background())
	for until := time.Now().Add(10 * time.Second); r.measurer.Load() == nil && time.Now().Before(until); time.Sleep(time.Millisecond) {
	}
	if err := second.Run(r.ctx, &fake{version: "1"}, 1); err == nil || !strings.Contains(err.Error(), "another process serves this log") {
		t.Errorf("a second process: %v", err)
	}
}
