package harvest

import (
	"bytes"
	"context"
	"database/sql"
	"errors"

	"gristmark/internal/result"
)

// Imported is a photo that was measured elsewhere, such as by the batch command.
type Imported struct {
	Key     string // unlike for every photo, the same when it is imported again
	File    string
	Data    []byte
	Photo   result.Photo
	Overlay []byte // JPEG; nil: none
	Keep    []byte // what Judge wants back
}

// Account is the account of that name, or with an empty name the one made first, for commands on the machine that the log lies on:
// whoever can write the database needs no password. ErrNone where there is none.
func (l *Log) Account(ctx context.Context, name string) (Who, error) {
	query, args := "SELECT id, name FROM account ORDER BY id LIMIT 1", []any{}
	if name != "" {
		clean, err := cleanName("the name", name)
		if err != nil {
			return Who{}, err
		}
		query, args = "SELECT id, name FROM account WHERE name_key = $1", []any{nameKey(clean)}
	}
	var w Who
	err := l.engine.read.QueryRowContext(ctx, query, args...).Scan(&w.AccountID, &w.Name)
	return w, noneIfNoRow(err)
}

// Import puts a photo with its measurement into a load; m is what measured it, and judges the load with it. A photo that came before
// under the same key stays as it is, and again is true.
func (d *Desk) Import(ctx context.Context, loadID int64, in Imported, m Measurer) (p Photo, again bool, err error) {
	p, again, err = d.Upload(ctx, loadID, in.Key, in.File, bytes.NewReader(in.Data), 0)
	if err != nil || again && p.State != Waiting {
		return p, again, err
	}
	l := d.log
	t, err := l.begin(ctx, measureJob{p.ID, 1}, 1)
	if errors.Is(err, ErrNone) { // a server that runs beside this took it up in this moment
		return p, again, nil
	}
	if err != nil {
		return p, again, err
	}
	if err := l.finish(ctx, m, t, measurement{in.Photo, in.Overlay, in.Keep}); err != nil {
		return p, again, err
	}
	if err := l.judge(ctx, m, loadID); err != nil {
		return p, again, err
	}
	l.watchers.wake(loadID)
	p, err = readPhoto(ctx, l.engine.read, p.ID)
	return p, again, err
}

// LoadNamed finds the newest load of that name in a harvest; ErrNone where there is none.
func (d *Desk) LoadNamed(ctx context.Context, harvestID int64, name string) (Load, error) {
	q := d.log.engine.read
	if _, err := d.harvest(ctx, q, harvestID); err != nil {
		return Load{}, err
	}
	var id int64
	err := q.QueryRowContext(ctx, "SELECT id FROM load WHERE harvest_id = $1 AND name = $2 ORDER BY id DESC LIMIT 1", harvestID, name).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return Load{}, ErrNone
	}
	if err != nil {
		return Load{}, databaseFault(err)
	}
	return d.Load(ctx, id)
}
