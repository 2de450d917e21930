package harvest

import (
	"context"
	"database/sql"
	"errors"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// Limits of what is entered, in characters.
const (
	maxName     = 80
	minPassword = 10
	maxPassword = 256
	maxText     = 4000
)

// How long a first link lives, and how many wrong passwords a name takes in a stretch of time.
const (
	firstLinkLife = 24 * time.Hour
	maxFailed     = 10
	failedWithin  = 15 * time.Minute
)

// nameKey makes names that look the same the same.
func nameKey(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }

// cleanName checks a name that people read: printable, in one line, not empty.
func cleanName(what, name string) (string, error) {
	name = strings.Join(strings.Fields(name), " ")
	if name == "" {
		return "", bad("%s is empty; enter one", what)
	}
	return cleanLine(what, name)
}

// cleanLine checks one line that may be empty.
func cleanLine(what, line string) (string, error) {
	line = strings.TrimSpace(line)
	if !utf8.ValidString(line) || strings.ContainsFunc(line, func(r rune) bool { return !unicode.IsPrint(r) && r != ' ' }) {
		return "", bad("%s holds characters that cannot be shown; enter plain text", what)
	}
	if utf8.RuneCountInString(line) > maxName {
		return "", bad("%s is longer than %d characters; shorten it", what, maxName)
	}
	return line, nil
}

func checkPassword(password string) error {
	n := utf8.RuneCountInString(password)
	if n < minPassword {
		return bad("the password is shorter than %d characters; choose a longer one", minPassword)
	}
	if n > maxPassword {
		return bad("the password is longer than %d characters; choose a shorter one", maxPassword)
	}
	return nil
}

// FirstLink makes the one-time token for the very first account, good for a day; the one before it dies.
// needed is false once there is an account.
func (l *Log) FirstLink(ctx context.Context) (token string, needed bool, err error) {
	err = l.inTx(ctx, func(tx *sql.Tx) error {
		var accounts int64
		if err := tx.QueryRowContext(ctx, "SELECT COUNT(*) FROM account").Scan(&accounts); err != nil || accounts > 0 {
			return err
		}
		needed, token = true, newToken()
		if _, err := tx.ExecContext(ctx, "DELETE FROM invitation WHERE farm_id IS NULL"); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, "INSERT INTO invitation (hash, farm_id, role, made_by, expires_at) VALUES ($1, NULL, '', '', $2)",
			hashToken(token), micros(l.now().Add(firstLinkLife)))
		return err
	})
	return token, needed, err
}

// invited is what an invitation link opens.
type invited struct {
	farm sql.NullInt64
	role Role
}

// takeInvitation uses the link up.
func (l *Log) takeInvitation(ctx context.Context, tx *sql.Tx, token string) (invited, error) {
	var in invited
	err := tx.QueryRowContext(ctx, "DELETE FROM invitation WHERE hash = $1 AND expires_at > $2 RETURNING farm_id, role",
		hashToken(token), micros(l.now())).Scan(&in.farm, &in.role)
	if errors.Is(err, sql.ErrNoRows) {
		return in, ErrLink
	}
	return in, err
}

// Join uses up a first or an invitation link: it makes an account, or, with the name and password of one
// that exists, gives it the invitation's role on the farm. A wrong entry does not use the link up.
func (l *Log) Join(ctx context.Context, token, name, password string) (Who, error) {
	name, err := cleanName("the name", name)
	if err != nil {
		return Who{}, err
	}
	if err := checkPassword(password); err != nil {
		return Who{}, err
	}
	if ok, err := l.InvitationOpen(ctx, token); err != nil || !ok {
		return Who{}, errors.Join(err, orNil(!ok && err == nil, ErrLink))
	}
	known, err := l.accountFor(ctx, name, password)
	if err != nil {
		return Who{}, err
	}
	hash := ""
	if known.AccountID == 0 {
		hash = l.hashPassword(password)
	}
	err = l.inTx(ctx, func(tx *sql.Tx) error { return l.join(ctx, tx, token, name, hash, &known) })
	if isUnique(err) {
		return Who{}, bad("the name %q was taken a moment ago; choose another", name)
	}
	return known, err
}

func orNil(say bool, err error) error {
	if say {
		return err
	}
	return nil
}

// InvitationOpen tells whether a first or invitation link can still be used; it does not use it up.
func (l *Log) InvitationOpen(ctx context.Context, token string) (bool, error) {
	var n int
	err := l.engine.read.QueryRowContext(ctx, "SELECT COUNT(*) FROM invitation WHERE hash = $1 AND expires_at > $2",
		hashToken(token), micros(l.now())).Scan(&n)
	return n > 0, databaseFault(err)
}

// accountFor returns the account of that name if the password is its own, none if the name is free.
func (l *Log) accountFor(ctx context.Context, name, password string) (Who, error) {
	var n int
	if err := l.engine.read.QueryRowContext(ctx, "SELECT COUNT(*) FROM account WHERE name_key = $1", nameKey(name)).Scan(&n); err != nil {
		return Who{}, databaseFault(err)
	}
	if n == 0 {
		return Who{}, nil
	}
	who, err := l.SignIn(ctx, name, password)
	if errors.Is(err, ErrSignIn) {
		return Who{}, bad("the name %q is taken; choose another, or enter its password", name)
	}
	return who, err
}

// join does the part of Join that is one transaction.
func (l *Log) join(ctx context.Context, tx *sql.Tx, token, name, hash string, who *Who) error {
	in, err := l.takeInvitation(ctx, tx, token)
	if err != nil {
		return err
	}
	if !in.farm.Valid {
		var accounts int64
		if err := tx.QueryRowContext(ctx, "SELECT COUNT(*) FROM account").Scan(&accounts); err != nil {
			return err
		}
		if accounts > 0 {
			return ErrLink // the first account is there already
		}
	}
	if who.AccountID == 0 {
		who.Name = name
		err := tx.QueryRowContext(ctx, "INSERT INTO account (name, name_key, password, made_at) VALUES ($1, $2, $3, $4) RETURNING id",
			name, nameKey(name), hash, micros(l.now())).Scan(&who.AccountID)
		if err != nil {
			return err
		}
	}
	if !in.farm.Valid {
		return nil
	}
	if err := setMember(ctx, tx, in.farm.Int64, who.AccountID, in.role); err != nil {
		return err
	}
	return l.note(ctx, tx, in.farm.Int64, who.Name, "member.join", object("account", who.AccountID), detail{"role": in.role})
}

// setMember gives a role; a role that is there already is only raised, never lowered, by an invitation.
func setMember(ctx context.Context, tx *sql.Tx, farm, account int64, role Role) error {
	var have Role
	err := tx.QueryRowContext(ctx, "SELECT role FROM member WHERE farm_id = $1 AND account_id = $2", farm, account).Scan(&have)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	if rank(have) >= rank(role) {
		return nil
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO member (farm_id, account_id, role) VALUES ($1, $2, $3)
		ON CONFLICT (farm_id, account_id) DO UPDATE SET role = excluded.role`, farm, account, string(role))
	return err
}

// SignIn checks name and password. After ten wrong passwords a name waits a quarter of an hour (ErrBusy);
// an unknown name takes as long to answer as a known one.
func (l *Log) SignIn(ctx context.Context, name, password string) (Who, error) {
	key := nameKey(name)
	if len(key) > 4*maxName || len(password) > 4*maxPassword {
		return Who{}, ErrSignIn
	}
	if err := l.countAttempt(ctx, key); err != nil {
		return Who{}, err
	}
	var who Who
	var hash string
	err := l.engine.read.QueryRowContext(ctx, "SELECT id, name, password FROM account WHERE name_key = $1", key).Scan(&who.AccountID, &who.Name, &hash)
	if errors.Is(err, sql.ErrNoRows) {
		l.wastePassword(password)
		return Who{}, ErrSignIn
	}
	if err != nil {
		return Who{}, databaseFault(err)
	}
	if !l.passwordFits(password, hash) {
		return Who{}, ErrSignIn
	}
	return who, l.inTx(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, "DELETE FROM attempt WHERE name_key = $1", key)
		return err
	})
}

// countAttempt counts before the password is looked at, so that attempts at the same time count too.
func (l *Log) countAttempt(ctx context.Context, key string) error {
	now := l.now()
	return l.inTx(ctx, func(tx *sql.Tx) error {
		old := micros(now.Add(-failedWithin))
		if _, err := tx.ExecContext(ctx, "DELETE FROM attempt WHERE since < $1", old); err != nil {
			return err
		}
		var failed int64
		err := tx.QueryRowContext(ctx, `INSERT INTO attempt (name_key, failed, since) VALUES ($1, 1, $2)
			ON CONFLICT (name_key) DO UPDATE SET failed = attempt.failed + 1 RETURNING failed`, key, micros(now)).Scan(&failed)
		if err != nil {
			return err
		}
		if failed > maxFailed {
			return ErrBusy
		}
		return nil
	})
}
