package harvest

import (
	"context"
	"database/sql"
)

// defaultCrop is what a harvest is of unless told.
const defaultCrop = "whole-plant maize"

const harvestColumns = `SELECT h.id, h.farm_id, h.name, h.crop, h.targets, h.made_at,
	(SELECT COUNT(*) FROM load l WHERE l.harvest_id = h.id),
	(SELECT COUNT(*) FROM load l JOIN photo p ON p.load_id = l.id WHERE l.harvest_id = h.id) FROM harvest h `

func scanHarvest(scan func(...any) error) (h Harvest, err error) {
	var made int64
	err = scan(&h.ID, &h.FarmID, &h.Name, &h.Crop, &h.Targets, &made, &h.Loads, &h.Photos)
	h.Made = moment(made)
	return h, err
}

// Harvests returns the harvests of a farm, newest first; farmID 0: of all farms of the account. A crew link sees its own.
func (d *Desk) Harvests(ctx context.Context, farmID int64) ([]Harvest, error) {
	q := d.log.engine.read
	var query string
	var args []any
	switch {
	case d.who.LinkID != 0:
		harvest, farm, err := d.linkHarvest(ctx, q)
		if err != nil {
			return nil, err
		}
		if farmID != 0 && farmID != farm {
			return nil, ErrNone
		}
		query, args = "WHERE h.id = $1", []any{harvest}
	case farmID == 0:
		query, args = "WHERE h.farm_id IN (SELECT farm_id FROM member WHERE account_id = $1) ORDER BY h.id DESC", []any{d.who.AccountID}
	default:
		p, err := farmPlace(ctx, q, farmID)
		if err == nil {
			err = d.may(ctx, q, p, toRead)
		}
		if err != nil {
			return nil, err
		}
		query, args = "WHERE h.farm_id = $1 ORDER BY h.id DESC", []any{farmID}
	}
	var out []Harvest
	err := each(ctx, q, func(r *sql.Rows) error {
		h, err := scanHarvest(r.Scan)
		out = append(out, h)
		return err
	}, harvestColumns+query, args...)
	return out, err
}

// Harvest returns one harvest.
func (d *Desk) Harvest(ctx context.Context, id int64) (Harvest, error) {
	return d.harvest(ctx, d.log.engine.read, id)
}

func (d *Desk) harvest(ctx context.Context, q querier, id int64) (Harvest, error) {
	p, err := harvestPlace(ctx, q, id)
	if err == nil {
		err = d.may(ctx, q, p, toLook)
	}
	if err != nil {
		return Harvest{}, d.orLinkOver(ctx, q, err)
	}
	h, err := scanHarvest(q.QueryRowContext(ctx, harvestColumns+"WHERE h.id = $1", id).Scan)
	return h, noneIfNoRow(err)
}

// orLinkOver answers ErrLink for whatever is asked with a link that is over, also where nothing is.
func (d *Desk) orLinkOver(ctx context.Context, q querier, err error) error {
	if d.who.LinkID == 0 {
		return err
	}
	if _, _, over := d.linkHarvest(ctx, q); over != nil {
		return over
	}
	return err
}

func cleanHarvest(h Harvest) (Harvest, error) {
	var err error
	if h.Name, err = cleanName("the harvest's name", h.Name); err != nil {
		return h, err
	}
	if h.Crop == "" {
		h.Crop = defaultCrop
	}
	if h.Crop, err = cleanLine("the crop", h.Crop); err != nil {
		return h, err
	}
	h.Targets, err = cleanLine("the name of the targets", h.Targets)
	return h, err
}

// AddHarvest makes a harvest on the farm h.FarmID.
func (d *Desk) AddHarvest(ctx context.Context, h Harvest) (Harvest, error) {
	h, err := cleanHarvest(h)
	if err != nil {
		return Harvest{}, err
	}
	err = d.ruling(ctx, h.FarmID, func(tx *sql.Tx) error {
		err := tx.QueryRowContext(ctx, "INSERT INTO harvest (farm_id, name, crop, targets, made_at) VALUES ($1, $2, $3, $4, $5) RETURNING id",
			h.FarmID, h.Name, h.Crop, h.Targets, micros(d.log.now())).Scan(&h.ID)
		if err != nil {
			return err
		}
		if err := d.note(ctx, tx, h.FarmID, "harvest.add", object("harvest", h.ID), detail{"name": h.Name}); err != nil {
			return err
		}
		h, err = d.harvest(ctx, tx, h.ID)
		return err
	})
	return h, err
}

// ChangeHarvest changes name, crop and targets; all loads are judged again when the targets change.
func (d *Desk) ChangeHarvest(ctx context.Context, h Harvest) (Harvest, error) {
	h, err := cleanHarvest(h)
	if err != nil {
		return Harvest{}, err
	}
	var stale []int64
	err = d.log.inTx(ctx, func(tx *sql.Tx) error {
		had, err := d.rulingHarvest(ctx, tx, h.ID)
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, "UPDATE harvest SET name = $2, crop = $3, targets = $4 WHERE id = $1", h.ID, h.Name, h.Crop, h.Targets); err != nil {
			return err
		}
		if had.Targets != h.Targets {
			if stale, err = d.log.outdateHarvest(ctx, tx, h.ID); err != nil {
				return err
			}
		}
		if err := d.note(ctx, tx, had.FarmID, "harvest.change", object("harvest", h.ID), detail{"from": had, "to": h}); err != nil {
			return err
		}
		h, err = d.harvest(ctx, tx, h.ID)
		return err
	})
	d.log.watchers.wake(stale...)
	return h, err
}

func (d *Desk) rulingHarvest(ctx context.Context, tx *sql.Tx, id int64) (Harvest, error) {
	h, err := d.harvest(ctx, tx, id)
	if err != nil {
		return h, err
	}
	return h, d.may(ctx, tx, place{farm: h.FarmID, harvest: id}, toRule)
}

// DropHarvest deletes a harvest with everything in it.
func (d *Desk) DropHarvest(ctx context.Context, id int64) error {
	var blobs []string
	err := d.log.inTx(ctx, func(tx *sql.Tx) error {
		h, err := d.rulingHarvest(ctx, tx, id)
		if err != nil {
			return err
		}
		if blobs, err = blobsOf(ctx, tx, "p.load_id IN (SELECT id FROM load WHERE harvest_id = $1)", id); err != nil {
			return err
		}
		if err := d.log.rememberDropped(ctx, tx, "p.load_id IN (SELECT id FROM load WHERE harvest_id = $2)", id); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, "DELETE FROM harvest WHERE id = $1", id); err != nil {
			return err
		}
		return d.note(ctx, tx, h.FarmID, "harvest.delete", object("harvest", id), detail{"name": h.Name, "loads": h.Loads, "photos": h.Photos})
	})
	d.log.dropBlobs(ctx, err, blobs)
	return err
}

// blobsOf returns the keys of photos and overlays that match.
func blobsOf(ctx context.Context, q querier, where string, arg any) ([]string, error) {
	var out []string
	scan := func(r *sql.Rows) error {
		var key string
		err := r.Scan(&key)
		out = append(out, key)
		return err
	}
	if err := each(ctx, q, scan, "SELECT p.blob FROM photo p WHERE "+where, arg); err != nil {
		return nil, err
	}
	err := each(ctx, q, scan, "SELECT m.overlay FROM measurement m JOIN photo p ON p.id = m.photo_id WHERE m.overlay <> '' AND "+where, arg)
	return out, err
}

// dropBlobs deletes what a transaction has let go of; what stays behind is swept later.
func (l *Log) dropBlobs(ctx context.Context, failed error, keys []string) {
	if failed != nil {
		return
	}
	if err := l.store.drop(ctx, keys...); err != nil {
		l.opt.Logger.Warn("photos of deleted loads stay until the next sweep", "error", err)
	}
}
