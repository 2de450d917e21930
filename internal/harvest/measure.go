package harvest

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"runtime/debug"
	"strings"

	"github.com/riverqueue/river"

	"gristmark/internal/result"
)

// maxDeaths is how often a photo may end the program before it is left alone.
const maxDeaths = 3

// apart reports whether a measurer measures in processes of its own, so that a photo cannot end this one: then the ends of the program
// are not the photo's fault, and are not counted against it.
func apart(m Measurer) bool {
	a, ok := m.(interface{ Apart() bool })
	return ok && a.Apart()
}

type measureWorker struct {
	river.WorkerDefaults[measureJob]
	log   *Log
	m     Measurer
	owner *owner
}

// Work measures one photo and keeps the result once, however often the job is begun. An error of database or
// store is tried again for a while.
func (w *measureWorker) Work(ctx context.Context, job *river.Job[measureJob]) error {
	defer w.owner.at(job.ID)()
	err := w.measure(ctx, job)
	if err == nil || ctx.Err() != nil || job.Attempt < job.MaxAttempts {
		return err
	}
	return w.log.fail(ctx, task{photo: job.Args.Photo, run: job.Args.Run}, 0, problemOf(err))
}

func (w *measureWorker) measure(ctx context.Context, job *river.Job[measureJob]) error {
	l := w.log
	t, err := l.begin(ctx, job.Args, job.Attempt-len(job.Errors))
	if errors.Is(err, ErrNone) {
		return nil // deleted, measured already, or asked for anew
	}
	if err != nil {
		return err
	}
	l.watchers.wake(t.load)
	defer l.watchers.wake(t.load)
	if t.deaths >= maxDeaths && !apart(w.m) {
		return l.fail(ctx, t, 1, "measuring this photo ended the program several times; it is left alone until somebody asks for it to be measured again")
	}
	data, err := l.store.read(ctx, t.blob)
	if errors.Is(err, ErrNone) {
		return l.fail(ctx, t, 0, "the photo's file is gone from the store; restore it from a backup or upload it again")
	}
	if err != nil {
		return err
	}
	got, err := measureSafely(ctx, w.m, t, data)
	if ctx.Err() != nil {
		return ctx.Err() // stopped: measured on the next start
	}
	if err != nil {
		l.opt.Logger.Error("a photo could not be measured", "photo", t.photo, "error", err)
		return l.fail(ctx, t, 0, problemOf(err))
	}
	return l.finish(ctx, w.m, t, got)
}

// task is a photo being measured.
type task struct {
	photo, blob, file string
	load, run         int64
	deaths            int // of the program while measuring it
	settings          Settings
}

// begin marks the photo as measuring; ErrNone where this asking is done or overtaken.
func (l *Log) begin(ctx context.Context, job measureJob, begun int) (task, error) {
	t := task{photo: job.Photo, run: job.Run, deaths: begun - 1}
	err := l.inTx(ctx, func(tx *sql.Tx) error {
		err := tx.QueryRowContext(ctx, `UPDATE photo SET state = 'measuring' WHERE id = $1 AND run = $2 AND state IN ('waiting', 'measuring')
			RETURNING load_id, blob, file`, job.Photo, job.Run).Scan(&t.load, &t.blob, &t.file)
		if err != nil {
			return noneIfNoRow(err)
		}
		var settings string
		if err := tx.QueryRowContext(ctx, "SELECT settings FROM load WHERE id = $1", t.load).Scan(&settings); err != nil {
			return err
		}
		return json.Unmarshal([]byte(settings), &t.settings)
	})
	return t, err
}

// measurement is what a Measurer says of a photo.
type measurement struct {
	photo         result.Photo
	overlay, keep []byte
}

// errCrash is a panic of the measurer.
var errCrash = errors.New("harvest: the program crashed on this photo")

// measureSafely turns a crash of the measurer into an error: the other photos go on.
func measureSafely(ctx context.Context, m Measurer, t task, data []byte) (got measurement, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("%w: %v\n%s", errCrash, p, debug.Stack())
		}
	}()
	got.photo, got.overlay, got.keep, err = m.MeasurePhoto(ctx, t.file, data, t.settings)
	return got, err
}

func problemOf(err error) string {
	if errors.Is(err, errCrash) {
		return "the program crashed on this photo; take it again, and send this one to whoever looks after the program"
	}
	return fmt.Sprintf("the photo could not be measured: %v; it is tried again when the program starts", err)
}

// plain keeps what any engine takes as text.
func plain(s string) string {
	return strings.ReplaceAll(strings.ToValidUTF8(s, "?"), "\x00", "?")
}

// fail marks a photo as failed and says why.
func (l *Log) fail(ctx context.Context, t task, poison int, problem string) error {
	return l.inTx(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, "UPDATE photo SET state = 'failed', problem = $3, poison = $4 WHERE id = $1 AND run = $2",
			t.photo, t.run, plain(problem), poison)
		return err
	})
}

// finish keeps a measurement: overlay first, then all else in one transaction, with the job for the judgement.
func (l *Log) finish(ctx context.Context, m Measurer, t task, got measurement) error {
	got.photo.File = t.photo
	packed, err := pack(got.photo)
	if err != nil {
		return l.fail(ctx, t, 0, problemOf(err))
	}
	overlay := ""
	if len(got.overlay) > 0 {
		overlay = "overlay/" + newToken()
		l.flying.Store(overlay, true)
		defer l.flying.Delete(overlay)
		if err := l.putBytes(ctx, overlay, got.overlay, "image/jpeg"); err != nil {
			return err
		}
	}
	kept := false
	err = l.inTx(ctx, func(tx *sql.Tx) error {
		var err error
		kept, err = l.record(ctx, tx, m.Version(), t, got, packed, overlay)
		return err
	})
	if overlay != "" && err == nil && !kept {
		err = l.store.drop(ctx, overlay)
	}
	return err
}

// record writes the rows of a measurement; false where it is there already or the photo is gone or asked for anew.
func (l *Log) record(ctx context.Context, tx *sql.Tx, version string, t task, got measurement, packed []byte, overlay string) (bool, error) {
	problem := ""
	if got.photo.Problem != nil {
		problem = plain(*got.photo.Problem)
	}
	var uploaded int64
	err := tx.QueryRowContext(ctx, `UPDATE photo SET state = $3, problem = $4 WHERE id = $1 AND run = $2 AND state = 'measuring' RETURNING uploaded_at`,
		t.photo, t.run, got.photo.Status, problem).Scan(&uploaded)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	before, err := newest(ctx, tx, t.photo)
	if err != nil && !errors.Is(err, ErrNone) {
		return false, err
	}
	var id int64
	err = tx.QueryRowContext(ctx, `INSERT INTO measurement (photo_id, version, run, at, photo, keep, overlay) VALUES ($1, $2, $3, $4, $5, $6, $7)
		ON CONFLICT (photo_id, version, run) DO NOTHING RETURNING id`, t.photo, version, t.run, micros(l.now()), packed, got.keep, overlay).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	if before != 0 {
		if err := carryCorrections(ctx, tx, before, id, got.photo); err != nil {
			return false, err
		}
	}
	if err := earliest(ctx, tx, t.load, got.photo.TakenAt, moment(uploaded)); err != nil {
		return false, err
	}
	return true, l.outdate(ctx, tx, t.load)
}
