package harvest

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"runtime/debug"

	"github.com/riverqueue/river"

	"gristmark/internal/result"
)

type judgeWorker struct {
	river.WorkerDefaults[judgeJob]
	log   *Log
	m     Measurer
	owner *owner
}

// Work judges a load where its judgement is out of date.
func (w *judgeWorker) Work(ctx context.Context, job *river.Job[judgeJob]) error {
	defer w.owner.at(job.ID)()
	err := w.log.judge(ctx, w.m, job.Args.Load)
	if errors.Is(err, ErrNone) {
		return nil // deleted
	}
	if err == nil {
		w.log.watchers.wake(job.Args.Load)
	}
	return err
}

// evidence is all that a load is judged by.
type evidence struct {
	wanted, judged int64
	settings       Settings
	targets        string
	photos         []result.Photo
	keeps          [][]byte
	corrections    []Correction
}

// judge makes the load's document anew where it is out of date. Two at once do no harm: the later evidence stays.
func (l *Log) judge(ctx context.Context, m Measurer, load int64) error {
	e, err := l.evidenceOf(ctx, load)
	if err != nil || e.wanted == e.judged {
		return err
	}
	var packed, slim []byte
	if len(e.photos) > 0 {
		doc, err := judgeSafely(ctx, m, e)
		if err != nil {
			return err
		}
		packed, err = pack(doc)
		if err != nil {
			return err
		}
		if slim, err = json.Marshal(thin(doc)); err != nil {
			return fmt.Errorf("harvest: %w", err)
		}
	}
	return l.inTx(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, "UPDATE load SET document = $3, thin = $4, judged = $2 WHERE id = $1 AND judged < $2",
			load, e.wanted, packed, string(slim))
		return err
	})
}

func judgeSafely(ctx context.Context, m Measurer, e evidence) (doc result.Document, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("harvest: the program crashed judging a load: %v\n%s", p, debug.Stack())
		}
	}()
	return m.Judge(ctx, e.photos, e.keeps, e.settings, e.targets, e.corrections)
}

// evidenceOf reads it in one view of the database.
func (l *Log) evidenceOf(ctx context.Context, load int64) (e evidence, err error) {
	err = l.inView(ctx, func(tx *sql.Tx) error {
		var settings string
		err := tx.QueryRowContext(ctx, `SELECT l.wanted, l.judged, l.settings, h.targets FROM load l JOIN harvest h ON h.id = l.harvest_id
			WHERE l.id = $1`, load).Scan(&e.wanted, &e.judged, &settings, &e.targets)
		if err != nil {
			return noneIfNoRow(err)
		}
		if e.wanted == e.judged {
			return nil
		}
		if err := json.Unmarshal([]byte(settings), &e.settings); err != nil {
			return err
		}
		if e.corrections, err = readCorrections(ctx, tx, load); err != nil {
			return err
		}
		return e.readMeasured(ctx, tx, load)
	})
	return e, err
}

func (e *evidence) readMeasured(ctx context.Context, q querier, load int64) error {
	return each(ctx, q, func(r *sql.Rows) error {
		var id string
		var packed, keep []byte
		if err := r.Scan(&id, &packed, &keep); err != nil {
			return err
		}
		var p result.Photo
		if err := unpack(packed, &p); err != nil {
			return err
		}
		p.File = id
		e.photos, e.keeps = append(e.photos, p), append(e.keeps, keep)
		return nil
	}, `SELECT p.id, m.photo, m.keep FROM photo p JOIN measurement m ON m.id = (SELECT MAX(n.id) FROM measurement n WHERE n.photo_id = p.id)
		WHERE p.load_id = $1 ORDER BY p.uploaded_at, p.id`, load)
}

// inView reads in one unchanging view of the database.
func (l *Log) inView(ctx context.Context, work func(tx *sql.Tx) error) error {
	opt := &sql.TxOptions{ReadOnly: true}
	if l.engine.postgres {
		opt.Isolation = sql.LevelRepeatableRead
	}
	tx, err := l.engine.read.BeginTx(ctx, opt)
	if err != nil {
		return databaseFault(err)
	}
	defer tx.Rollback() //nolint:errcheck // reading leaves nothing to undo
	return databaseFault(work(tx))
}

func (l *Log) putBytes(ctx context.Context, key string, data []byte, kind string) error {
	_, err := l.store.put(ctx, key, bytes.NewReader(data), 0, kind)
	return err
}

// Remeasure queues all photos of a harvest whose newest measurement is of another version of the program
// than this one, and those that failed. Old results stay beside the new.
func (d *Desk) Remeasure(ctx context.Context, harvestID int64) (n int, err error) {
	err = d.log.inTx(ctx, func(tx *sql.Tx) error {
		h, err := d.rulingHarvest(ctx, tx, harvestID)
		if err != nil {
			return err
		}
		n, err = d.log.again(ctx, tx, `p.load_id IN (SELECT id FROM load WHERE harvest_id = $1) AND (p.state = 'failed' OR p.state IN ('measured', 'refused')
			AND (SELECT m.version FROM measurement m WHERE m.photo_id = p.id ORDER BY m.id DESC LIMIT 1) <> $2)`, harvestID, d.log.version())
		if err != nil {
			return err
		}
		return d.note(ctx, tx, h.FarmID, "harvest.remeasure", object("harvest", harvestID), detail{"photos": n})
	})
	return n, err
}

// RemeasureLoad queues all photos of a load again, as after a change of what its settings say of scale or kernel.
func (d *Desk) RemeasureLoad(ctx context.Context, loadID int64) (n int, err error) {
	err = d.log.inTx(ctx, func(tx *sql.Tx) error {
		p, err := d.atLoad(ctx, tx, loadID, toEnter)
		if err != nil {
			return err
		}
		if n, err = d.log.again(ctx, tx, "p.load_id = $1 AND p.state IN ('measured', 'refused', 'failed')", loadID); err != nil {
			return err
		}
		return d.note(ctx, tx, p.farm, "load.remeasure", object("load", loadID), detail{"photos": n})
	})
	d.log.watchers.wake(loadID)
	return n, err
}

// version is that of the measurer that runs, or else of the program.
func (l *Log) version() string {
	if m := l.measurer.Load(); m != nil {
		return (*m).Version()
	}
	return l.opt.Version
}
