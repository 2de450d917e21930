package harvest

import (
	"context"
	"database/sql"
	"errors"
	"io"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"github.com/riverqueue/river"
)

// Options say where the log lies.
type Options struct {
	Database string           // sqlite:FILE, or a postgres:// URL
	Photos   string           // a folder, or the URL of a bucket: file:///dir, s3://name?region=...
	Version  string           // of the program
	Logger   *slog.Logger     // nil: says nothing
	Clock    func() time.Time // nil: time.Now
}

// Log is an open harvest log. It may be used from many goroutines at once.
type Log struct {
	opt    Options
	engine *engine
	store  *store
	queue  *river.Client[*sql.Tx] // inserts jobs

	measurer atomic.Pointer[Measurer] // of Run, to judge at once after a correction
	watchers watchers
	flying   sync.Map // keys of blobs whose transaction is not through yet
	hashing  chan struct{}
	look     time.Duration // how often to look for jobs whose process has ended
}

// Open opens the log, makes it if there is none, and brings its schema forward.
func Open(ctx context.Context, opt Options) (*Log, error) {
	if opt.Logger == nil {
		opt.Logger = quiet()
	}
	if opt.Clock == nil {
		opt.Clock = time.Now
	}
	e, err := openEngine(opt.Database)
	if err != nil {
		return nil, err
	}
	l := &Log{opt: opt, engine: e, hashing: make(chan struct{}, 2), look: 5 * time.Second}
	if err := l.prepare(ctx); err != nil {
		return nil, errors.Join(err, l.Close(ctx))
	}
	return l, nil
}

func (l *Log) prepare(ctx context.Context) error {
	if err := migrate(ctx, l.engine); err != nil {
		return err
	}
	var err error
	if l.store, err = openStore(ctx, l.opt.Photos); err != nil {
		return err
	}
	l.queue, err = river.NewClient(l.engine.driver(), &river.Config{Logger: quiet(), SkipUnknownJobCheck: true})
	return err
}

// Close lets go of the database and the photos. Run must have ended.
func (l *Log) Close(context.Context) error {
	var err error
	if l.store != nil {
		err = l.store.close()
	}
	return errors.Join(err, l.engine.close())
}

// Ping tells whether database and photos answer.
func (l *Log) Ping(ctx context.Context) error {
	var one int
	if err := l.engine.read.QueryRowContext(ctx, "SELECT 1 FROM account WHERE 1 = 0 UNION ALL SELECT 1").Scan(&one); err != nil {
		return databaseFault(err)
	}
	return l.store.ping(ctx)
}

func (l *Log) now() time.Time { return l.opt.Clock().UTC().Truncate(time.Microsecond) }

func (l *Log) inTx(ctx context.Context, work func(tx *sql.Tx) error) error {
	return l.engine.inTx(ctx, work)
}

// querier reads: a transaction, or the database itself.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// each calls scan for every row of a query.
func each(ctx context.Context, q querier, scan func(*sql.Rows) error, query string, args ...any) error {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return databaseFault(err)
	}
	defer rows.Close()
	for rows.Next() {
		if err := scan(rows); err != nil {
			return databaseFault(err)
		}
	}
	return databaseFault(rows.Err())
}

// noneIfNoRow turns an empty answer into ErrNone.
func noneIfNoRow(err error) error {
	if errors.Is(err, sql.ErrNoRows) {
		return ErrNone
	}
	return databaseFault(err)
}

// changedOne tells ErrNone when a statement touched no row.
func changedOne(res sql.Result, err error) error {
	if err != nil {
		return err
	}
	n, err := res.RowsAffected()
	if err == nil && n == 0 {
		return ErrNone
	}
	return err
}

func micros(t time.Time) int64 { return t.UnixMicro() }

func moment(us int64) time.Time { return time.UnixMicro(us).UTC() }

func quiet() *slog.Logger { return slog.New(slog.NewTextHandler(io.Discard, nil)) }
