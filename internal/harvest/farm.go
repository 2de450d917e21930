package harvest

import (
	"context"
	"database/sql"
	"errors"
	"time"
)

// Member is an account with a role on a farm.
type Member struct {
	AccountID int64  `json:"account_id"`
	Name      string `json:"name"`
	Role      Role   `json:"role"`
}

// Farms returns the farms of the account, by name. A crew link sees its farm's name, as crew.
func (d *Desk) Farms(ctx context.Context) ([]Farm, error) {
	q := d.log.engine.read
	query, args := `SELECT f.id, f.name, m.role FROM farm f JOIN member m ON m.farm_id = f.id WHERE m.account_id = $1 ORDER BY f.name, f.id`, []any{d.who.AccountID}
	if d.who.LinkID != 0 {
		_, farm, err := d.linkHarvest(ctx, q)
		if err != nil {
			return nil, err
		}
		query, args = "SELECT id, name, 'crew' FROM farm WHERE id = $1", []any{farm}
	}
	var out []Farm
	err := each(ctx, q, func(r *sql.Rows) error {
		var f Farm
		err := r.Scan(&f.ID, &f.Name, &f.Role)
		out = append(out, f)
		return err
	}, query, args...)
	return out, err
}

// AddFarm makes a farm; whoever makes it is its adviser.
func (d *Desk) AddFarm(ctx context.Context, name string) (Farm, error) {
	name, err := cleanName("the farm's name", name)
	if err != nil {
		return Farm{}, err
	}
	f := Farm{Name: name, Role: Adviser}
	err = d.log.inTx(ctx, func(tx *sql.Tx) error {
		if err := d.account(ctx, tx); err != nil {
			return err
		}
		if err := tx.QueryRowContext(ctx, "INSERT INTO farm (name, made_at) VALUES ($1, $2) RETURNING id", name, micros(d.log.now())).Scan(&f.ID); err != nil {
			return err
		}
		if err := setMember(ctx, tx, f.ID, d.who.AccountID, Adviser); err != nil {
			return err
		}
		return d.note(ctx, tx, f.ID, "farm.add", object("farm", f.ID), detail{"name": name})
	})
	return f, err
}

// Members returns who has a role on the farm, by name.
func (d *Desk) Members(ctx context.Context, farmID int64) ([]Member, error) {
	q := d.log.engine.read
	p, err := farmPlace(ctx, q, farmID)
	if err == nil {
		err = d.may(ctx, q, p, toRead)
	}
	if err != nil {
		return nil, err
	}
	var out []Member
	err = each(ctx, q, func(r *sql.Rows) error {
		var m Member
		err := r.Scan(&m.AccountID, &m.Name, &m.Role)
		out = append(out, m)
		return err
	}, "SELECT a.id, a.name, m.role FROM member m JOIN account a ON a.id = m.account_id WHERE m.farm_id = $1 ORDER BY a.name, a.id", farmID)
	return out, err
}

// ruling does work on a farm that only an adviser may do.
func (d *Desk) ruling(ctx context.Context, farmID int64, work func(tx *sql.Tx) error) error {
	return d.log.inTx(ctx, func(tx *sql.Tx) error {
		p, err := farmPlace(ctx, tx, farmID)
		if err == nil {
			err = d.may(ctx, tx, p, toRule)
		}
		if err != nil {
			return err
		}
		return work(tx)
	})
}

// Invite makes a one-time link to a role on the farm.
func (d *Desk) Invite(ctx context.Context, farmID int64, role Role, life time.Duration) (string, error) {
	if rank(role) == 0 {
		return "", bad("there is no role %q; choose adviser, crew or reader", role)
	}
	token := newToken()
	err := d.ruling(ctx, farmID, func(tx *sql.Tx) error {
		by, err := d.by(ctx, tx)
		if err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, "INSERT INTO invitation (hash, farm_id, role, made_by, expires_at) VALUES ($1, $2, $3, $4, $5)",
			hashToken(token), farmID, string(role), by, micros(d.log.now().Add(life)))
		if err != nil {
			return err
		}
		return d.note(ctx, tx, farmID, "member.invite", object("farm", farmID), detail{"role": role})
	})
	if err != nil {
		return "", err
	}
	return token, nil
}

// SetRole changes the role of a member; an empty role removes it. The last adviser stays.
func (d *Desk) SetRole(ctx context.Context, farmID, accountID int64, role Role) error {
	if role != "" && rank(role) == 0 {
		return bad("there is no role %q; choose adviser, crew or reader", role)
	}
	return d.ruling(ctx, farmID, func(tx *sql.Tx) error {
		var had Role
		err := tx.QueryRowContext(ctx, "SELECT role FROM member WHERE farm_id = $1 AND account_id = $2", farmID, accountID).Scan(&had)
		if err != nil {
			return noneIfNoRow(err)
		}
		if role == "" {
			_, err = tx.ExecContext(ctx, "DELETE FROM member WHERE farm_id = $1 AND account_id = $2", farmID, accountID)
		} else {
			_, err = tx.ExecContext(ctx, "UPDATE member SET role = $3 WHERE farm_id = $1 AND account_id = $2", farmID, accountID, string(role))
		}
		if err != nil {
			return err
		}
		var advisers int64
		if err := tx.QueryRowContext(ctx, "SELECT COUNT(*) FROM member WHERE farm_id = $1 AND role = 'adviser'", farmID).Scan(&advisers); err != nil {
			return err
		}
		if advisers == 0 {
			return bad("the farm would be left without an adviser; make somebody else adviser first")
		}
		return d.note(ctx, tx, farmID, "member.role", object("account", accountID), detail{"from": had, "to": role})
	})
}

// ChangePassword sets a new password and ends all sessions of the account.
func (d *Desk) ChangePassword(ctx context.Context, old, new string) error {
	if err := d.account(ctx, d.log.engine.read); err != nil {
		return err
	}
	if err := checkPassword(new); err != nil {
		return err
	}
	name, err := d.by(ctx, d.log.engine.read)
	if err != nil {
		return err
	}
	who, err := d.log.SignIn(ctx, name, old)
	if err != nil {
		return err
	}
	if who.AccountID != d.who.AccountID {
		return ErrSignIn
	}
	hash := d.log.hashPassword(new)
	return d.log.inTx(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, "UPDATE account SET password = $2 WHERE id = $1", d.who.AccountID, hash)
		_, err2 := tx.ExecContext(ctx, "DELETE FROM session WHERE account_id = $1", d.who.AccountID)
		if err := errors.Join(err, err2); err != nil {
			return err
		}
		return d.log.note(ctx, tx, 0, name, "account.password", object("account", d.who.AccountID), nil)
	})
}
