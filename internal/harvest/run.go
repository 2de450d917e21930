package harvest

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"github.com/riverqueue/river"
	"github.com/riverqueue/river/rivertype"
)

// Times of the queue.
const (
	pollEvery  = 250 * time.Millisecond // how soon a photo is seen that came while nothing was measured
	fetchAgain = 10 * time.Millisecond  // after a photo, at the soonest
	sweepEvery = time.Hour
	orphanAge  = time.Hour // a blob without a row may be an upload that is under way
	stopWithin = 20 * time.Second
	noTimeout  = -1
)

// Run measures what is queued with so many workers until ctx ends; what they are at then is finished or, after
// a while, left for the next start. What a killed process left measuring is taken up at once. With SQLite one
// process runs the queue of a log; another gets an error.
func (l *Log) Run(ctx context.Context, m Measurer, workers int) error {
	owner, err := l.own(ctx)
	if err != nil {
		return err
	}
	defer owner.release()
	if err := l.takeUp(ctx, owner); err != nil {
		return orNil(ctx.Err() == nil, err)
	}
	client, err := l.client(m, owner, max(workers, 1))
	if err != nil {
		return err
	}
	// The client works on its own context: ending ctx must not cancel a measurement half done.
	if err := client.Start(context.WithoutCancel(ctx)); err != nil {
		return databaseFault(err)
	}
	l.measurer.Store(&m)
	defer l.measurer.Store(nil)
	l.keepHouse(ctx, owner)
	return stop(client)
}

// client makes river's client that works the queue.
func (l *Log) client(m Measurer, owner *owner, workers int) (*river.Client[*sql.Tx], error) {
	w := river.NewWorkers()
	river.AddWorker(w, &measureWorker{log: l, m: m, owner: owner})
	river.AddWorker(w, &judgeWorker{log: l, m: m, owner: owner})
	client, err := river.NewClient(l.engine.driver(), &river.Config{
		ID:                   owner.id,
		Logger:               quiet(),
		Workers:              w,
		Queues:               map[string]river.QueueConfig{measureQueue: {MaxWorkers: workers}, judgeQueue: {MaxWorkers: 1}},
		FetchPollInterval:    pollEvery,
		FetchCooldown:        fetchAgain,
		JobTimeout:           noTimeout,
		RetryPolicy:          patience{},
		ErrorHandler:         teller{l.opt.Logger},
		RescueStuckJobsAfter: 10 * 365 * 24 * time.Hour, // takeUp does it, by who is alive and not by the clock
		PollOnly:             true,
	})
	if err != nil {
		return nil, fmt.Errorf("harvest: the queue cannot be started: %w", err)
	}
	return client, nil
}

// patience tries a job again whose database or store failed: after 1 s, 2 s, 4 s and so on, at most a minute apart.
type patience struct{}

func (patience) NextRetry(job *rivertype.JobRow) time.Time {
	return time.Now().Add(min(time.Second<<min(len(job.Errors), 10), time.Minute))
}

// teller writes what goes wrong with a job to the program's own log.
type teller struct{ to *slog.Logger }

func (t teller) HandleError(ctx context.Context, job *rivertype.JobRow, err error) *river.ErrorHandlerResult {
	if !errors.Is(err, context.Canceled) {
		t.to.Error("a job of the queue failed and is tried again", "job", job.Kind, "attempt", job.Attempt, "error", err)
	}
	return nil
}

func (t teller) HandlePanic(ctx context.Context, job *rivertype.JobRow, value any, trace string) *river.ErrorHandlerResult {
	t.to.Error("a job of the queue crashed and is tried again", "job", job.Kind, "attempt", job.Attempt, "crash", value, "trace", trace)
	return nil
}

// keepHouse sweeps and takes up what others left, until ctx ends.
func (l *Log) keepHouse(ctx context.Context, owner *owner) {
	sweep, others := time.NewTicker(sweepEvery), time.NewTicker(l.look)
	defer sweep.Stop()
	defer others.Stop()
	l.sweepAndTell(ctx)
	for {
		select {
		case <-ctx.Done():
			return
		case <-sweep.C:
			l.sweepAndTell(ctx)
		case <-others.C:
			if l.engine.postgres {
				l.watchers.wakeAll() // another process may have changed what is watched here
			}
			if err := errors.Join(owner.rescueOthers(ctx, l), owner.rescueOwn(ctx, l)); err != nil && ctx.Err() == nil {
				l.opt.Logger.Warn("photos of an ended process could not be taken up", "error", err)
			}
		}
	}
}

func (l *Log) sweepAndTell(ctx context.Context) {
	n, err := l.Sweep(ctx)
	if err != nil && ctx.Err() == nil {
		l.opt.Logger.Warn("the photo store could not be swept", "error", err)
	}
	if n > 0 {
		l.opt.Logger.Info("swept files of uploads that never came through", "files", n)
	}
}

func stop(client *river.Client[*sql.Tx]) error {
	ctx, cancel := context.WithTimeout(context.Background(), stopWithin)
	defer cancel()
	err := client.Stop(ctx)
	if errors.Is(err, context.DeadlineExceeded) {
		hard, cancel := context.WithTimeout(context.Background(), stopWithin)
		defer cancel()
		err = client.StopAndCancel(hard)
	}
	if err != nil && !errors.Is(err, context.DeadlineExceeded) {
		return fmt.Errorf("harvest: the queue did not stop in order: %w", err)
	}
	return nil
}

// takeUp makes ready what an ended process left: its jobs, photos that no job asks for, and photos that
// failed by a fault of program or machine.
func (l *Log) takeUp(ctx context.Context, owner *owner) error {
	if err := owner.rescueOthers(ctx, l); err != nil {
		return err
	}
	return l.inTx(ctx, func(tx *sql.Tx) error {
		if _, err := l.again(ctx, tx, "p.state = 'failed' AND p.poison = 0"); err != nil {
			return err
		}
		return l.queueForgotten(ctx, tx)
	})
}

// again queues the photos that match to be measured anew and returns their loads.
func (l *Log) again(ctx context.Context, tx *sql.Tx, where string, args ...any) (photos int, err error) {
	type asked struct {
		id  string
		run int64
	}
	var list []asked
	err = each(ctx, tx, func(r *sql.Rows) error {
		var a asked
		err := r.Scan(&a.id, &a.run)
		list = append(list, a)
		return err
	}, "SELECT p.id, p.run FROM photo p WHERE "+where+" ORDER BY p.uploaded_at, p.id", args...)
	if err != nil {
		return 0, err
	}
	for _, a := range list {
		_, err := tx.ExecContext(ctx, "UPDATE photo SET state = 'waiting', problem = '', poison = 0, run = $2 WHERE id = $1", a.id, a.run+1)
		if err == nil {
			err = l.queueMeasure(ctx, tx, a.id, a.run+1)
		}
		if err != nil {
			return 0, err
		}
	}
	return len(list), nil
}

// queueForgotten asks for photos that wait without a job, as after a restore.
func (l *Log) queueForgotten(ctx context.Context, tx *sql.Tx) error {
	asked := map[string]bool{}
	jobs, err := l.openJobs(ctx, tx, measureJob{}.Kind())
	if err != nil {
		return err
	}
	for _, args := range jobs {
		asked[args.Photo] = true
	}
	type waiting struct {
		id  string
		run int64
	}
	var list []waiting
	err = each(ctx, tx, func(r *sql.Rows) error {
		var w waiting
		err := r.Scan(&w.id, &w.run)
		list = append(list, w)
		return err
	}, "SELECT id, run FROM photo WHERE state IN ('waiting', 'measuring') ORDER BY uploaded_at, id")
	if err != nil {
		return err
	}
	for _, w := range list {
		if asked[w.id] {
			continue
		}
		if err := l.queueMeasure(ctx, tx, w.id, w.run); err != nil {
			return err
		}
	}
	return nil
}
