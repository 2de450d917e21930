package harvest

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// Desk is the log as one account or crew link may use it. Every call looks at the rights anew.
type Desk struct {
	log *Log
	who Who
}

// Desk returns the log as who may use it.
func (l *Log) Desk(w Who) *Desk { return &Desk{log: l, who: w} }

// Who returns whose desk it is.
func (d *Desk) Who() Who { return d.who }

// rank orders the roles; no role is 0.
func rank(r Role) int {
	switch r {
	case Adviser:
		return 3
	case Crew:
		return 2
	case Reader:
		return 1
	}
	return 0
}

// need is what a call asks for: a role at least, and whether a crew link will do.
type need struct {
	role Role
	link bool
}

var (
	toLook  = need{Reader, true}   // at a harvest and what is in it
	toEnter = need{Crew, true}     // loads, photos, boxes, corrections
	toRule  = need{Adviser, false} // accounts, links, targets, deletion
	toRead  = need{Reader, false}  // what concerns the farm, not one harvest
)

// place is where in the log something lies.
type place struct {
	farm, harvest, load int64
}

// farmPlace, harvestPlace, loadPlace and photoPlace look up where something lies; ErrNone when it is nowhere.
func farmPlace(ctx context.Context, q querier, id int64) (p place, err error) {
	err = q.QueryRowContext(ctx, "SELECT id FROM farm WHERE id = $1", id).Scan(&p.farm)
	return p, noneIfNoRow(err)
}

func harvestPlace(ctx context.Context, q querier, id int64) (p place, err error) {
	err = q.QueryRowContext(ctx, "SELECT farm_id, id FROM harvest WHERE id = $1", id).Scan(&p.farm, &p.harvest)
	return p, noneIfNoRow(err)
}

func loadPlace(ctx context.Context, q querier, id int64) (p place, err error) {
	err = q.QueryRowContext(ctx, "SELECT h.farm_id, h.id, l.id FROM load l JOIN harvest h ON h.id = l.harvest_id WHERE l.id = $1", id).
		Scan(&p.farm, &p.harvest, &p.load)
	return p, noneIfNoRow(err)
}

func photoPlace(ctx context.Context, q querier, id string) (p place, err error) {
	err = q.QueryRowContext(ctx, `SELECT h.farm_id, h.id, l.id FROM photo p JOIN load l ON l.id = p.load_id
		JOIN harvest h ON h.id = l.harvest_id WHERE p.id = $1`, id).Scan(&p.farm, &p.harvest, &p.load)
	return p, noneIfNoRow(err)
}

// may tells whether the desk's owner may do something at a place: ErrNone for what is not his farm's
// (or not his link's harvest's), ErrRight where his role is too low.
func (d *Desk) may(ctx context.Context, q querier, p place, n need) error {
	if d.who.LinkID != 0 {
		return d.linkMay(ctx, q, p, n)
	}
	role, err := d.roleOn(ctx, q, p.farm)
	if err != nil {
		return err
	}
	if rank(role) == 0 {
		return ErrNone
	}
	if rank(role) < rank(n.role) {
		return ErrRight
	}
	return nil
}

// roleOn returns the account's role on a farm; empty when it has none.
func (d *Desk) roleOn(ctx context.Context, q querier, farm int64) (Role, error) {
	var role Role
	err := q.QueryRowContext(ctx, "SELECT role FROM member WHERE farm_id = $1 AND account_id = $2", farm, d.who.AccountID).Scan(&role)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return role, databaseFault(err)
}

// linkMay asks the log, not the desk, which harvest the link opens.
func (d *Desk) linkMay(ctx context.Context, q querier, p place, n need) error {
	harvest, farm, err := d.linkHarvest(ctx, q)
	if err != nil {
		return err
	}
	if p.harvest != 0 && p.harvest != harvest || p.farm != farm {
		return ErrNone
	}
	if !n.link || p.harvest == 0 {
		return ErrRight
	}
	return nil
}

// linkHarvest returns the harvest and farm of the desk's link; ErrLink when it is over.
func (d *Desk) linkHarvest(ctx context.Context, q querier) (harvest, farm int64, err error) {
	err = q.QueryRowContext(ctx, `SELECT h.id, h.farm_id FROM crew_link c JOIN harvest h ON h.id = c.harvest_id
		WHERE c.id = $1 AND c.revoked_at = 0 AND c.expires_at > $2`, d.who.LinkID, micros(d.log.now())).Scan(&harvest, &farm)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, 0, ErrLink
	}
	return harvest, farm, databaseFault(err)
}

// account checks that an account, and not a link, sits at the desk, and that it still exists.
func (d *Desk) account(ctx context.Context, q querier) error {
	if d.who.LinkID != 0 {
		if _, _, err := d.linkHarvest(ctx, q); err != nil {
			return err
		}
		return ErrRight
	}
	var id int64
	return noneIfNoRow(q.QueryRowContext(ctx, "SELECT id FROM account WHERE id = $1", d.who.AccountID).Scan(&id))
}

// uploader names the desk's owner in the key of an upload.
func (d *Desk) uploader() string {
	if d.who.LinkID != 0 {
		return fmt.Sprintf("link:%d", d.who.LinkID)
	}
	return fmt.Sprintf("account:%d", d.who.AccountID)
}

// by is the name that the log keeps of who did something.
func (d *Desk) by(ctx context.Context, q querier) (string, error) {
	query, id := "SELECT name FROM account WHERE id = $1", d.who.AccountID
	if d.who.LinkID != 0 {
		query, id = "SELECT label FROM crew_link WHERE id = $1", d.who.LinkID
	}
	var name string
	err := q.QueryRowContext(ctx, query, id).Scan(&name)
	return name, noneIfNoRow(err)
}
