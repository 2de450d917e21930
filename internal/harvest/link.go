package harvest

import (
	"context"
	"database/sql"
	"time"
)

// CrewLink lets phones without an account upload to one harvest until it expires or is revoked.
type CrewLink struct {
	ID        int64      `json:"id"`
	HarvestID int64      `json:"harvest_id"`
	Label     string     `json:"label"`
	By        string     `json:"by"`
	MadeAt    time.Time  `json:"made_at"`
	ExpiresAt time.Time  `json:"expires_at"`
	RevokedAt *time.Time `json:"revoked_at"` // nil while it is not revoked
}

// AddCrewLink makes a crew link to a harvest; its token is told this once.
func (d *Desk) AddCrewLink(ctx context.Context, harvestID int64, label string, life time.Duration) (string, CrewLink, error) {
	label, err := cleanName("the link's label", label)
	if err != nil {
		return "", CrewLink{}, err
	}
	token, now := newToken(), d.log.now()
	c := CrewLink{HarvestID: harvestID, Label: label, MadeAt: now, ExpiresAt: now.Add(life)}
	err = d.log.inTx(ctx, func(tx *sql.Tx) error {
		p, err := harvestPlace(ctx, tx, harvestID)
		if err == nil {
			err = d.may(ctx, tx, p, toRule)
		}
		if err != nil {
			return err
		}
		if c.By, err = d.by(ctx, tx); err != nil {
			return err
		}
		err = tx.QueryRowContext(ctx, `INSERT INTO crew_link (harvest_id, label, hash, made_by, made_at, expires_at)
			VALUES ($1, $2, $3, $4, $5, $6) RETURNING id`, harvestID, label, hashToken(token), c.By, micros(c.MadeAt), micros(c.ExpiresAt)).Scan(&c.ID)
		if err != nil {
			return err
		}
		return d.note(ctx, tx, p.farm, "link.add", object("link", c.ID), detail{"harvest": harvestID, "label": label, "expires": c.ExpiresAt})
	})
	if err != nil {
		return "", CrewLink{}, err
	}
	return token, c, nil
}

// CrewLinks returns the links to a harvest, newest first, those that are over too.
func (d *Desk) CrewLinks(ctx context.Context, harvestID int64) ([]CrewLink, error) {
	q := d.log.engine.read
	p, err := harvestPlace(ctx, q, harvestID)
	if err == nil {
		err = d.may(ctx, q, p, toRule)
	}
	if err != nil {
		return nil, err
	}
	var out []CrewLink
	err = each(ctx, q, func(r *sql.Rows) error {
		c := CrewLink{HarvestID: harvestID}
		var made, expires, revoked int64
		err := r.Scan(&c.ID, &c.Label, &c.By, &made, &expires, &revoked)
		c.MadeAt, c.ExpiresAt = moment(made), moment(expires)
		if revoked != 0 {
			at := moment(revoked)
			c.RevokedAt = &at
		}
		out = append(out, c)
		return err
	}, "SELECT id, label, made_by, made_at, expires_at, revoked_at FROM crew_link WHERE harvest_id = $1 ORDER BY id DESC", harvestID)
	return out, err
}

// RevokeCrewLink ends a link at once, and the sessions that it opened.
func (d *Desk) RevokeCrewLink(ctx context.Context, id int64) error {
	return d.log.inTx(ctx, func(tx *sql.Tx) error {
		var harvest int64
		if err := tx.QueryRowContext(ctx, "SELECT harvest_id FROM crew_link WHERE id = $1", id).Scan(&harvest); err != nil {
			if d.who.LinkID != 0 {
				if _, _, err := d.linkHarvest(ctx, tx); err != nil {
					return err
				}
			}
			return noneIfNoRow(err)
		}
		p, err := harvestPlace(ctx, tx, harvest)
		if err == nil {
			err = d.may(ctx, tx, p, toRule)
		}
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, "UPDATE crew_link SET revoked_at = $2 WHERE id = $1 AND revoked_at = 0", id, micros(d.log.now())); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, "DELETE FROM session WHERE link_id = $1", id); err != nil {
			return err
		}
		return d.note(ctx, tx, p.farm, "link.revoke", object("link", id), detail{"harvest": harvest})
	})
}
