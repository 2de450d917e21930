package harvest

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
)

// detail is what an entry of the audit tells beside who, what and when.
type detail map[string]any

func object(kind string, id any) string { return fmt.Sprintf("%s %v", kind, id) }

// note writes an entry of the audit in the transaction of the change itself.
func (l *Log) note(ctx context.Context, tx *sql.Tx, farm int64, by, what, object string, d detail) error {
	text, err := json.Marshal(d)
	if err != nil {
		return err
	}
	if d == nil {
		text = []byte("{}")
	}
	_, err = tx.ExecContext(ctx, "INSERT INTO change (farm_id, at, by_name, what, object, detail) VALUES ($1, $2, $3, $4, $5, $6)",
		farm, micros(l.now()), by, what, object, string(text))
	return err
}

// note writes an entry in the name of the desk's owner.
func (d *Desk) note(ctx context.Context, tx *sql.Tx, farm int64, what, object string, more detail) error {
	by, err := d.by(ctx, tx)
	if err != nil {
		return err
	}
	return d.log.note(ctx, tx, farm, by, what, object, more)
}

// Changes returns the audit of a farm, newest first: those with an ID below before (0: all), at most limit (0: 100).
func (d *Desk) Changes(ctx context.Context, farmID, before int64, limit int) ([]Change, error) {
	q := d.log.engine.read
	p, err := farmPlace(ctx, q, farmID)
	if err == nil {
		err = d.may(ctx, q, p, toRule)
	}
	if err != nil {
		return nil, err
	}
	if limit <= 0 {
		limit = 100
	}
	if before <= 0 {
		before = 1 << 62
	}
	var out []Change
	err = each(ctx, q, func(r *sql.Rows) error {
		c, at := Change{FarmID: farmID}, int64(0)
		err := r.Scan(&c.ID, &at, &c.By, &c.What, &c.Object, &c.Detail)
		c.At = moment(at)
		out = append(out, c)
		return err
	}, "SELECT id, at, by_name, what, object, detail FROM change WHERE farm_id = $1 AND id < $2 ORDER BY id DESC LIMIT $3", farmID, before, limit)
	return out, err
}
