package harvest

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"
	_ "github.com/jackc/pgx/v5/stdlib" // registers pgx
	"github.com/riverqueue/river/riverdriver"
	"github.com/riverqueue/river/riverdriver/riverdatabasesql"
	"github.com/riverqueue/river/riverdriver/riversqlite"
	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// engine is the database under the log: SQLite in a file, or PostgreSQL. The SQL is the same for both; both take $1 for parameters.
type engine struct {
	postgres bool
	file     string  // of SQLite
	write    *sql.DB // with SQLite of one connection: the one writer
	read     *sql.DB // with PostgreSQL the same as write
}

// openEngine opens "sqlite:FILE", a postgres:// URL, or a bare file name.
func openEngine(database string) (*engine, error) {
	if strings.HasPrefix(database, "postgres://") || strings.HasPrefix(database, "postgresql://") {
		return openPostgres(database)
	}
	file := strings.TrimPrefix(database, "sqlite:")
	if file == "" || strings.Contains(file, "://") {
		return nil, bad("the database %q is neither sqlite:FILE nor a postgres:// address", redacted(database))
	}
	return openSQLite(file)
}

// redacted takes the password out of a database's address.
func redacted(database string) string {
	u, err := url.Parse(database)
	if err != nil {
		return "(unreadable address)"
	}
	return u.Redacted()
}

func openPostgres(database string) (*engine, error) {
	db, err := sql.Open("pgx", database)
	if err != nil {
		return nil, fmt.Errorf("harvest: the address of the database cannot be read: %w", err)
	}
	db.SetMaxOpenConns(16)
	db.SetMaxIdleConns(8)
	return &engine{postgres: true, write: db, read: db}, nil
}

// pragmas of SQLite: an acknowledged upload survives a loss of power (synchronous FULL with a write-ahead log).
var pragmas = []string{"busy_timeout(15000)", "journal_mode(WAL)", "synchronous(FULL)", "foreign_keys(1)", "cache_size(-16000)"}

func openSQLite(file string) (*engine, error) {
	file, err := filepath.Abs(file)
	if err != nil {
		return nil, fmt.Errorf("harvest: %w", err)
	}
	if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
		return nil, fmt.Errorf("harvest: the folder of the log cannot be made: %w", err)
	}
	// The file holds hashes of passwords: for its owner alone. SQLite gives the files beside it the same mode.
	f, err := os.OpenFile(file, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fmt.Errorf("harvest: the file of the log cannot be opened: %w", err)
	}
	if err := f.Close(); err != nil {
		return nil, fmt.Errorf("harvest: the file of the log cannot be opened: %w", err)
	}
	query := url.Values{"_pragma": pragmas}
	reading := (&url.URL{Scheme: "file", Path: file, RawQuery: query.Encode()}).String()
	query.Set("_txlock", "immediate")
	writing := (&url.URL{Scheme: "file", Path: file, RawQuery: query.Encode()}).String()

	write, err := sql.Open("sqlite", writing)
	if err != nil {
		return nil, fmt.Errorf("harvest: %w", err)
	}
	write.SetMaxOpenConns(1)
	read, err := sql.Open("sqlite", reading)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("harvest: %w", err), write.Close())
	}
	read.SetMaxOpenConns(8)
	return &engine{file: file, write: write, read: read}, nil
}

func (e *engine) close() error {
	if e.postgres {
		return e.write.Close()
	}
	return errors.Join(e.read.Close(), e.write.Close())
}

// driver is river's way to the same database.
func (e *engine) driver() riverdriver.Driver[*sql.Tx] {
	if e.postgres {
		return riverdatabasesql.New(e.write)
	}
	return riversqlite.New(e.write)
}

// inTx does work in one transaction for writing; an error undoes all of it. Work that ends in a deadlock with
// another transaction is done again.
func (e *engine) inTx(ctx context.Context, work func(tx *sql.Tx) error) error {
	for attempt := 1; ; attempt++ {
		err := e.tryTx(ctx, work)
		if err == nil || attempt == 5 || !isDeadlock(err) {
			return databaseFault(err)
		}
	}
}

func (e *engine) tryTx(ctx context.Context, work func(tx *sql.Tx) error) error {
	tx, err := e.write.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback() //nolint:errcheck // after Commit there is nothing to undo
	if err := work(tx); err != nil {
		return err
	}
	return tx.Commit()
}

func isDeadlock(err error) bool {
	var e *pgconn.PgError
	return errors.As(err, &e) && e.Code == "40P01" // deadlock_detected
}

func sqliteFull(err error) bool {
	var e *sqlite.Error
	return errors.As(err, &e) && e.Code()&0xff == sqlite3.SQLITE_FULL
}

func postgresFull(err error) bool {
	var e *pgconn.PgError
	return errors.As(err, &e) && e.Code == "53100" // disk_full
}

// isUnique reports whether a row with the same key was there already.
func isUnique(err error) bool {
	var p *pgconn.PgError
	if errors.As(err, &p) {
		return p.Code == "23505" // unique_violation
	}
	var s *sqlite.Error
	return errors.As(err, &s) && (s.Code() == sqlite3.SQLITE_CONSTRAINT_UNIQUE || s.Code() == sqlite3.SQLITE_CONSTRAINT_PRIMARYKEY)
}
