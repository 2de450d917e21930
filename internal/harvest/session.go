package harvest

import (
	"context"
	"database/sql"
	"errors"
	"time"
)

// StartSession makes a session for an account or a crew link. A link's session ends with the link.
func (l *Log) StartSession(ctx context.Context, who Who, life time.Duration) (string, error) {
	token := newToken()
	err := l.inTx(ctx, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, "DELETE FROM session WHERE expires_at <= $1", micros(l.now())); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, "INSERT INTO session (hash, account_id, link_id, expires_at) VALUES ($1, $2, $3, $4)",
			hashToken(token), nullID(who.AccountID), nullID(who.LinkID), micros(l.now().Add(life)))
		return err
	})
	return token, err
}

func nullID(id int64) sql.NullInt64 { return sql.NullInt64{Int64: id, Valid: id != 0} }

// EndSession forgets a session; one that is not there is no error.
func (l *Log) EndSession(ctx context.Context, token string) error {
	return l.inTx(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, "DELETE FROM session WHERE hash = $1", hashToken(token))
		return err
	})
}

// Session tells whose session it is; ErrSignIn when it is over or unknown.
func (l *Log) Session(ctx context.Context, token string) (Who, error) {
	var account, link sql.NullInt64
	err := l.engine.read.QueryRowContext(ctx, "SELECT account_id, link_id FROM session WHERE hash = $1 AND expires_at > $2",
		hashToken(token), micros(l.now())).Scan(&account, &link)
	if errors.Is(err, sql.ErrNoRows) || (err == nil && !account.Valid && !link.Valid) {
		return Who{}, ErrSignIn
	}
	if err != nil {
		return Who{}, databaseFault(err)
	}
	if link.Valid {
		return l.linkWho(ctx, "id = $1", link.Int64)
	}
	who := Who{AccountID: account.Int64}
	err = l.engine.read.QueryRowContext(ctx, "SELECT name FROM account WHERE id = $1", account.Int64).Scan(&who.Name)
	if errors.Is(err, sql.ErrNoRows) {
		return Who{}, ErrSignIn
	}
	return who, databaseFault(err)
}

// CrewLink tells who a crew link lets in; ErrLink when it is unknown, expired or revoked.
func (l *Log) CrewLink(ctx context.Context, token string) (Who, error) {
	return l.linkWho(ctx, "hash = $1", hashToken(token))
}

func (l *Log) linkWho(ctx context.Context, where string, arg any) (Who, error) {
	var who Who
	err := l.engine.read.QueryRowContext(ctx, "SELECT id, harvest_id, label FROM crew_link WHERE "+where+" AND revoked_at = 0 AND expires_at > $2",
		arg, micros(l.now())).Scan(&who.LinkID, &who.HarvestID, &who.Name)
	if errors.Is(err, sql.ErrNoRows) {
		return Who{}, ErrLink
	}
	return who, databaseFault(err)
}

// APIToken tells whose token it is; ErrSignIn when it is unknown or expired.
func (l *Log) APIToken(ctx context.Context, token string) (Who, error) {
	var who Who
	err := l.engine.read.QueryRowContext(ctx, `SELECT a.id, a.name FROM api_token t JOIN account a ON a.id = t.account_id
		WHERE t.hash = $1 AND t.expires_at > $2`, hashToken(token), micros(l.now())).Scan(&who.AccountID, &who.Name)
	if errors.Is(err, sql.ErrNoRows) {
		return Who{}, ErrSignIn
	}
	return who, databaseFault(err)
}
