package harvest

import (
	"context"
	"database/sql"
	"errors"
	"math"

	"gristmark/internal/result"
)

// carryCorrections gives the corrections of a photo's measurement before to the same pieces of a newer one.
// What has no counterpart stays with the old measurement alone.
func carryCorrections(ctx context.Context, tx *sql.Tx, before, after int64, now result.Photo) error {
	var named []Correction
	err := each(ctx, tx, func(r *sql.Rows) error {
		var c Correction
		var at int64
		err := r.Scan(&c.ID, &c.Class, &c.By, &at)
		c.At = moment(at)
		named = append(named, c)
		return err
	}, "SELECT particle, class, by_name, at FROM correction WHERE measurement_id = $1 ORDER BY at, particle", before)
	if err != nil || len(named) == 0 {
		return err
	}
	var packed []byte
	var was result.Photo
	err = tx.QueryRowContext(ctx, "SELECT photo FROM measurement WHERE id = $1", before).Scan(&packed)
	if err := errors.Join(err, unpack(packed, &was)); err != nil {
		return err
	}
	for _, c := range named {
		id, ok := samePiece(was, c.ID, now)
		if !ok {
			continue
		}
		c.ID = id
		if err := putCorrection(ctx, tx, after, c); err != nil {
			return err
		}
	}
	return nil
}

// samePiece finds the piece of a photo in another measurement of it: the one whose centre lies nearest and
// within a quarter of its length, of between half and twice its area. The rule is this program's own.
func samePiece(was result.Photo, id int, now result.Photo) (int, bool) {
	old, ok := piece(was, id)
	if !ok || now.Scale == nil || now.Scale.MMPerPx <= 0 {
		return 0, false
	}
	best, at := math.Inf(1), 0
	for _, p := range now.Particles {
		far := math.Hypot(p.AtPx[0]-old.AtPx[0], p.AtPx[1]-old.AtPx[1]) * now.Scale.MMPerPx
		alike := p.AreaMM2 <= 2*old.AreaMM2 && 2*p.AreaMM2 >= old.AreaMM2
		if alike && far < best && far <= p.LengthMM/4 {
			best, at = far, p.ID
		}
	}
	return at, !math.IsInf(best, 1)
}

func piece(photo result.Photo, id int) (result.Particle, bool) {
	for _, p := range photo.Particles {
		if p.ID == id {
			return p, true
		}
	}
	return result.Particle{}, false
}
