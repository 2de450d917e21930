package harvest

import (
	"context"
	"database/sql"
	"time"
)

// Token is an account's key to the programming interface; the log keeps only its hash.
type Token struct {
	ID        int64     `json:"id"`
	Label     string    `json:"label"`
	MadeAt    time.Time `json:"made_at"`
	ExpiresAt time.Time `json:"expires_at"`
}

// AddToken makes a token of the account; its text is told this once.
func (d *Desk) AddToken(ctx context.Context, label string, life time.Duration) (string, Token, error) {
	label, err := cleanName("the token's label", label)
	if err != nil {
		return "", Token{}, err
	}
	text, now := newToken(), d.log.now()
	t := Token{Label: label, MadeAt: now, ExpiresAt: now.Add(life)}
	err = d.log.inTx(ctx, func(tx *sql.Tx) error {
		if err := d.account(ctx, tx); err != nil {
			return err
		}
		err := tx.QueryRowContext(ctx, "INSERT INTO api_token (account_id, label, hash, made_at, expires_at) VALUES ($1, $2, $3, $4, $5) RETURNING id",
			d.who.AccountID, label, hashToken(text), micros(t.MadeAt), micros(t.ExpiresAt)).Scan(&t.ID)
		if err != nil {
			return err
		}
		return d.note(ctx, tx, 0, "token.add", object("token", t.ID), detail{"label": label})
	})
	if err != nil {
		return "", Token{}, err
	}
	return text, t, nil
}

// Tokens returns the account's own tokens, newest first.
func (d *Desk) Tokens(ctx context.Context) ([]Token, error) {
	q := d.log.engine.read
	if err := d.account(ctx, q); err != nil {
		return nil, err
	}
	var out []Token
	err := each(ctx, q, func(r *sql.Rows) error {
		var t Token
		var made, expires int64
		err := r.Scan(&t.ID, &t.Label, &made, &expires)
		t.MadeAt, t.ExpiresAt = moment(made), moment(expires)
		out = append(out, t)
		return err
	}, "SELECT id, label, made_at, expires_at FROM api_token WHERE account_id = $1 ORDER BY id DESC", d.who.AccountID)
	return out, err
}

// DropToken ends one of the account's own tokens.
func (d *Desk) DropToken(ctx context.Context, id int64) error {
	return d.log.inTx(ctx, func(tx *sql.Tx) error {
		if err := d.account(ctx, tx); err != nil {
			return err
		}
		if err := changedOne(tx.ExecContext(ctx, "DELETE FROM api_token WHERE id = $1 AND account_id = $2", id, d.who.AccountID)); err != nil {
			return err
		}
		return d.note(ctx, tx, 0, "token.drop", object("token", id), nil)
	})
}
