package harvest

import (
	"context"
	"crypto/rand"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"sync"
	"syscall"
)

// owner is this process as one that works the queue. Others see that it lives by a lock that the
// operating system or PostgreSQL lets go of when it ends, however it ends.
type owner struct {
	id   string
	file *os.File  // locked beside a SQLite file
	conn *sql.Conn // holds PostgreSQL's advisory lock

	busy     sync.Map        // IDs of jobs that a worker of this process is at
	suspects map[int64]int64 // jobs that ran without a worker when last looked at, and their attempt
}

// lockClass keeps the log's advisory locks apart from those of others in the same database.
const lockClass = 0x67726973

func (l *Log) own(ctx context.Context) (*owner, error) {
	b := make([]byte, 8)
	rand.Read(b) //nolint:errcheck // never fails
	o := &owner{id: "gristmark-" + hex.EncodeToString(b)}
	if l.engine.postgres {
		return o, o.lockPostgres(ctx, l.engine.write)
	}
	return o, o.lockFile(l.engine.file + ".lock")
}

func (o *owner) lockFile(name string) error {
	f, err := os.OpenFile(name, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return fmt.Errorf("harvest: the lock beside the log cannot be made: %w", err)
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		return errors.Join(fmt.Errorf("harvest: another process serves this log already; stop it first"), f.Close())
	}
	o.file = f
	return nil
}

func (o *owner) lockPostgres(ctx context.Context, db *sql.DB) error {
	conn, err := db.Conn(context.WithoutCancel(ctx))
	if err != nil {
		return databaseFault(err)
	}
	if _, err := conn.ExecContext(ctx, "SELECT pg_advisory_lock($1, hashtext($2))", lockClass, o.id); err != nil {
		return errors.Join(databaseFault(err), conn.Close())
	}
	o.conn = conn
	return nil
}

func (o *owner) release() {
	if o.file != nil {
		_ = o.file.Close()
	}
	if o.conn != nil {
		_, _ = o.conn.ExecContext(context.Background(), "SELECT pg_advisory_unlock($1, hashtext($2))", lockClass, o.id)
		_ = o.conn.Close()
	}
}

// rescueOwn makes jobs of this process ready again that no worker is at: where the database was away when a
// job ended, its end is not written. A job is suspected first and rescued at the second look.
func (o *owner) rescueOwn(ctx context.Context, l *Log) error {
	mine := "json_extract(attempted_by, '$[#-1]') = $1"
	if l.engine.postgres {
		mine = "attempted_by[array_upper(attempted_by, 1)] = $1"
	}
	suspects := map[int64]int64{}
	err := each(ctx, l.engine.read, func(r *sql.Rows) error {
		var id, attempt int64
		err := r.Scan(&id, &attempt)
		if _, busy := o.busy.Load(id); !busy {
			suspects[id] = attempt
		}
		return err
	}, "SELECT id, attempt FROM river_job WHERE state = 'running' AND "+mine, o.id)
	if err != nil {
		return err
	}
	before := o.suspects
	o.suspects = suspects
	return l.inTx(ctx, func(tx *sql.Tx) error {
		for id, attempt := range suspects {
			if before[id] != attempt {
				continue
			}
			_, err := tx.ExecContext(ctx, "UPDATE river_job SET state = 'available' WHERE id = $1 AND attempt = $2 AND state = 'running'", id, attempt)
			if err != nil {
				return err
			}
		}
		return nil
	})
}

// at marks a job as being worked at until the function it returns is called.
func (o *owner) at(job int64) (done func()) {
	o.busy.Store(job, true)
	return func() { o.busy.Delete(job) }
}

// rescueOthers makes the jobs of processes that have ended ready again.
func (o *owner) rescueOthers(ctx context.Context, l *Log) error {
	if !l.engine.postgres {
		return l.inTx(ctx, func(tx *sql.Tx) error {
			// One process works a SQLite log: what runs under another name ran in one that has ended.
			_, err := tx.ExecContext(ctx, `UPDATE river_job SET state = 'available' WHERE state = 'running'
				AND COALESCE(json_extract(attempted_by, '$[#-1]'), '') <> $1`, o.id)
			return err
		})
	}
	if err := o.keepLock(ctx, l.engine.write); err != nil {
		return err
	}
	return l.inTx(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE river_job SET state = 'available' WHERE state = 'running' AND NOT EXISTS (
			SELECT 1 FROM pg_locks k JOIN pg_database b ON b.oid = k.database
			WHERE k.locktype = 'advisory' AND k.granted AND b.datname = current_database() AND k.classid = $1::bigint::oid
			AND k.objid = (hashtext(attempted_by[array_upper(attempted_by, 1)])::bigint & 4294967295)::oid)`, lockClass)
		return err
	})
}

// keepLock takes the lock again where the connection that held it is gone.
func (o *owner) keepLock(ctx context.Context, db *sql.DB) error {
	if o.conn != nil && o.conn.PingContext(ctx) == nil {
		return nil
	}
	if o.conn != nil {
		_ = o.conn.Close()
		o.conn = nil
	}
	return o.lockPostgres(ctx, db)
}

// openJobs returns what the jobs of a kind that are not finished ask for.
func (l *Log) openJobs(ctx context.Context, q querier, kind string) ([]measureJob, error) {
	column := "json(args)"
	if l.engine.postgres {
		column = "args::text"
	}
	var out []measureJob
	err := each(ctx, q, func(r *sql.Rows) error {
		var text []byte
		if err := r.Scan(&text); err != nil {
			return err
		}
		var job measureJob
		err := json.Unmarshal(text, &job)
		out = append(out, job)
		return err
	}, "SELECT "+column+" FROM river_job WHERE kind = $1 AND finalized_at IS NULL", kind)
	return out, err
}
