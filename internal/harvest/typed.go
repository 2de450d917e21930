package harvest

import (
	"context"
	"database/sql"
	"encoding/json"
	"strings"
	"unicode/utf8"
)

const maxFields = 40

// AddTyped keeps a result that was entered by hand.
func (d *Desk) AddTyped(ctx context.Context, loadID int64, kind string, fields map[string]string) (Typed, error) {
	t := Typed{LoadID: loadID, Kind: kind, Fields: fields, At: d.log.now()}
	text, err := cleanTyped(t)
	if err != nil {
		return Typed{}, err
	}
	err = d.log.inTx(ctx, func(tx *sql.Tx) error {
		p, err := d.atLoad(ctx, tx, loadID, toEnter)
		if err != nil {
			return err
		}
		if t.By, err = d.by(ctx, tx); err != nil {
			return err
		}
		err = tx.QueryRowContext(ctx, "INSERT INTO typed (load_id, kind, fields, by_name, at) VALUES ($1, $2, $3, $4, $5) RETURNING id",
			loadID, kind, text, t.By, micros(t.At)).Scan(&t.ID)
		if err != nil {
			return err
		}
		return d.note(ctx, tx, p.farm, "typed.add", object("typed", t.ID), detail{"load": loadID, "kind": kind, "fields": fields})
	})
	if err != nil {
		return Typed{}, err
	}
	d.log.watchers.wake(loadID)
	return t, nil
}

func cleanTyped(t Typed) (string, error) {
	if t.Kind != TypedSieve && t.Kind != TypedCup && t.Kind != TypedLab {
		return "", bad("there is no kind of result %q; enter sieve, cup or lab", t.Kind)
	}
	if len(t.Fields) == 0 || len(t.Fields) > maxFields {
		return "", bad("nothing was entered, or more than %d fields", maxFields)
	}
	for name, value := range t.Fields {
		if !utf8.ValidString(name+value) || strings.ContainsRune(name+value, 0) || len(name) > maxName || len(value) > maxText {
			return "", bad("a field of the result is no plain text of at most %d characters", maxText)
		}
	}
	text, err := json.Marshal(t.Fields)
	return string(text), err
}

// DropTyped deletes a result that was entered by hand.
func (d *Desk) DropTyped(ctx context.Context, id int64) error {
	var load int64
	err := d.log.inTx(ctx, func(tx *sql.Tx) error {
		var kind, fields string
		err := tx.QueryRowContext(ctx, "SELECT load_id, kind, fields FROM typed WHERE id = $1", id).Scan(&load, &kind, &fields)
		if err != nil {
			return d.orLinkOver(ctx, tx, noneIfNoRow(err))
		}
		p, err := d.atLoad(ctx, tx, load, toEnter)
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, "DELETE FROM typed WHERE id = $1", id); err != nil {
			return err
		}
		return d.note(ctx, tx, p.farm, "typed.delete", object("typed", id), detail{"load": load, "kind": kind, "fields": json.RawMessage(fields)})
	})
	if err == nil {
		d.log.watchers.wake(load)
	}
	return err
}

func readTyped(ctx context.Context, q querier, loadID int64) ([]Typed, error) {
	var out []Typed
	err := each(ctx, q, func(r *sql.Rows) error {
		t, at, fields := Typed{LoadID: loadID}, int64(0), ""
		if err := r.Scan(&t.ID, &t.Kind, &fields, &t.By, &at); err != nil {
			return err
		}
		t.At = moment(at)
		out = append(out, t)
		return json.Unmarshal([]byte(fields), &out[len(out)-1].Fields)
	}, "SELECT id, kind, fields, by_name, at FROM typed WHERE load_id = $1 ORDER BY id", loadID)
	return out, err
}
