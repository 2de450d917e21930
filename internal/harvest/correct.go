package harvest

import (
	"context"
	"database/sql"

	"gristmark/internal/result"
)

// Correct keeps the class that a person gave to a piece of a photo, and returns the load judged anew.
func (d *Desk) Correct(ctx context.Context, photoID string, particle int, class result.Class) (Load, error) {
	switch class {
	case result.WholeKernel, result.BrokenKernel, result.Stover:
	default:
		return Load{}, bad("there is no class %q to name a piece; choose whole_kernel, broken_kernel or stover", class)
	}
	return d.name(ctx, photoID, particle, "piece.correct", detail{"piece": particle, "class": class}, func(tx *sql.Tx, measurement int64, by string) error {
		if err := hasParticle(ctx, tx, photoID, particle); err != nil {
			return err
		}
		return putCorrection(ctx, tx, measurement, Correction{ID: particle, Class: class, By: by, At: d.log.now()})
	})
}

// Uncorrect takes a correction back.
func (d *Desk) Uncorrect(ctx context.Context, photoID string, particle int) (Load, error) {
	return d.name(ctx, photoID, particle, "piece.uncorrect", detail{"piece": particle}, func(tx *sql.Tx, measurement int64, _ string) error {
		return changedOne(tx.ExecContext(ctx, "DELETE FROM correction WHERE measurement_id = $1 AND particle = $2", measurement, particle))
	})
}

func putCorrection(ctx context.Context, tx *sql.Tx, measurement int64, c Correction) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO correction (measurement_id, particle, class, by_name, at) VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (measurement_id, particle) DO UPDATE SET class = excluded.class, by_name = excluded.by_name, at = excluded.at`,
		measurement, c.ID, string(c.Class), c.By, micros(c.At))
	return err
}

// name does what Correct and Uncorrect share.
func (d *Desk) name(ctx context.Context, photoID string, particle int, what string, more detail, work func(tx *sql.Tx, measurement int64, by string) error) (Load, error) {
	var load int64
	err := d.log.inTx(ctx, func(tx *sql.Tx) error {
		p, err := d.atPhoto(ctx, tx, photoID, toEnter)
		if err != nil {
			return err
		}
		load = p.load
		by, err := d.by(ctx, tx)
		if err != nil {
			return err
		}
		measurement, err := newest(ctx, tx, photoID)
		if err != nil {
			return err
		}
		if err := work(tx, measurement, by); err != nil {
			return err
		}
		if err := d.log.outdate(ctx, tx, load); err != nil {
			return err
		}
		return d.note(ctx, tx, p.farm, what, object("photo", photoID), more)
	})
	if err != nil {
		return Load{}, err
	}
	out, err := readLoad(ctx, d.log.engine.read, load)
	if err != nil {
		return Load{}, err
	}
	return d.judged(ctx, out)
}

// hasParticle checks that the newest measurement of the photo has that piece.
func hasParticle(ctx context.Context, q querier, photoID string, particle int) error {
	photo, err := readPhoto(ctx, q, photoID)
	if err != nil {
		return err
	}
	if photo.Result != nil {
		for _, p := range photo.Result.Particles {
			if p.ID == particle {
				return nil
			}
		}
	}
	return ErrNone
}

// Corrections returns what people named in the photos of a load, in order of photo and piece.
func (d *Desk) Corrections(ctx context.Context, loadID int64) ([]Correction, error) {
	q := d.log.engine.read
	if _, err := d.atLoad(ctx, q, loadID, toLook); err != nil {
		return nil, err
	}
	return readCorrections(ctx, q, loadID)
}

func readCorrections(ctx context.Context, q querier, loadID int64) ([]Correction, error) {
	var out []Correction
	err := each(ctx, q, func(r *sql.Rows) error {
		var c Correction
		var at int64
		err := r.Scan(&c.PhotoID, &c.ID, &c.Class, &c.By, &at)
		c.At = moment(at)
		out = append(out, c)
		return err
	}, `SELECT p.id, c.particle, c.class, c.by_name, c.at FROM photo p
		JOIN correction c ON c.measurement_id = (SELECT MAX(m.id) FROM measurement m WHERE m.photo_id = p.id)
		WHERE p.load_id = $1 ORDER BY p.uploaded_at, p.id, c.particle`, loadID)
	return out, err
}

// newest returns the photo's newest measurement; ErrNone while it has none.
func newest(ctx context.Context, q querier, photoID string) (int64, error) {
	var id sql.NullInt64
	err := q.QueryRowContext(ctx, "SELECT MAX(id) FROM measurement WHERE photo_id = $1", photoID).Scan(&id)
	if err == nil && !id.Valid {
		return 0, ErrNone
	}
	return id.Int64, databaseFault(err)
}
