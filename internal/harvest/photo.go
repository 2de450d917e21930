package harvest

import (
	"context"
	"database/sql"
	"io"

	"gristmark/internal/result"
)

// photoColumns selects photos with the newest measurement's overlay; result is "m.photo" or "NULL".
func photoColumns(result string) string {
	return `SELECT p.id, p.load_id, p.file, p.sha256, p.bytes, p.uploaded_at, p.by_name, p.state, p.problem, COALESCE(m.overlay, ''), ` + result + `
		FROM photo p LEFT JOIN measurement m ON m.id = (SELECT MAX(n.id) FROM measurement n WHERE n.photo_id = p.id) `
}

func scanPhoto(scan func(...any) error) (p Photo, packed []byte, err error) {
	var at int64
	var overlay string
	err = scan(&p.ID, &p.LoadID, &p.File, &p.SHA256, &p.Bytes, &at, &p.By, &p.State, &p.Problem, &overlay, &packed)
	p.UploadedAt, p.HasOverlay = moment(at), overlay != ""
	return p, packed, err
}

func readPhotos(ctx context.Context, q querier, where string, args ...any) ([]Photo, error) {
	var out []Photo
	err := each(ctx, q, func(r *sql.Rows) error {
		p, packed, err := scanPhoto(r.Scan)
		if err == nil && len(packed) > 0 {
			p.Result = new(result.Photo)
			err = unpack(packed, p.Result)
		}
		out = append(out, p)
		return err
	}, photoColumns("m.photo")+"WHERE "+where+" ORDER BY p.uploaded_at, p.id", args...)
	return out, err
}

func readPhoto(ctx context.Context, q querier, id string) (Photo, error) {
	photos, err := readPhotos(ctx, q, "p.id = $1", id)
	if err == nil && len(photos) == 0 {
		err = ErrNone
	}
	if err != nil {
		return Photo{}, err
	}
	return photos[0], nil
}

// atPhoto checks what may be done to a photo.
func (d *Desk) atPhoto(ctx context.Context, q querier, id string, n need) (place, error) {
	p, err := photoPlace(ctx, q, id)
	if err == nil {
		err = d.may(ctx, q, p, n)
	}
	return p, d.orLinkOverIf(ctx, q, err)
}

// Photo returns a photo with its newest measurement.
func (d *Desk) Photo(ctx context.Context, id string) (Photo, error) {
	q := d.log.engine.read
	if _, err := d.atPhoto(ctx, q, id, toLook); err != nil {
		return Photo{}, err
	}
	return readPhoto(ctx, q, id)
}

// OpenPhoto reads the bytes of a photo as they came, with all that the camera wrote into them.
func (d *Desk) OpenPhoto(ctx context.Context, id string) (io.ReadCloser, error) {
	return d.openBlob(ctx, id, "SELECT blob FROM photo WHERE id = $1")
}

// OpenOverlay reads the picture of the newest measurement, a JPEG; ErrNone while there is none.
func (d *Desk) OpenOverlay(ctx context.Context, id string) (io.ReadCloser, error) {
	return d.openBlob(ctx, id, "SELECT overlay FROM measurement WHERE photo_id = $1 ORDER BY id DESC LIMIT 1")
}

func (d *Desk) openBlob(ctx context.Context, id, query string) (io.ReadCloser, error) {
	q := d.log.engine.read
	if _, err := d.atPhoto(ctx, q, id, toLook); err != nil {
		return nil, err
	}
	var key string
	if err := q.QueryRowContext(ctx, query, id).Scan(&key); err != nil {
		return nil, noneIfNoRow(err)
	}
	if key == "" {
		return nil, ErrNone
	}
	return d.log.store.open(ctx, key)
}

// DropPhoto deletes a photo and its measurements; the load is judged again.
func (d *Desk) DropPhoto(ctx context.Context, id string) error {
	var blobs []string
	var load int64
	err := d.log.inTx(ctx, func(tx *sql.Tx) error {
		p, err := d.atPhoto(ctx, tx, id, toRule)
		if err != nil {
			return err
		}
		load = p.load
		if blobs, err = blobsOf(ctx, tx, "p.id = $1", id); err != nil {
			return err
		}
		if err := d.log.rememberDropped(ctx, tx, "p.id = $2", id); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, "DELETE FROM photo WHERE id = $1", id); err != nil {
			return err
		}
		if err := d.log.outdate(ctx, tx, load); err != nil {
			return err
		}
		return d.note(ctx, tx, p.farm, "photo.delete", object("photo", id), detail{"load": load})
	})
	if err != nil {
		return err
	}
	d.log.dropBlobs(ctx, nil, blobs)
	_, err = d.judged(ctx, Load{ID: load})
	return err
}

// Measurements returns all measurements of a photo, newest first.
func (d *Desk) Measurements(ctx context.Context, photoID string) ([]Measurement, error) {
	q := d.log.engine.read
	if _, err := d.atPhoto(ctx, q, photoID, toLook); err != nil {
		return nil, err
	}
	var out []Measurement
	err := each(ctx, q, func(r *sql.Rows) error {
		m, at, packed := Measurement{PhotoID: photoID, Photo: new(result.Photo)}, int64(0), []byte(nil)
		if err := r.Scan(&m.ID, &m.Version, &at, &packed); err != nil {
			return err
		}
		m.At = moment(at)
		out = append(out, m)
		return unpack(packed, m.Photo)
	}, "SELECT id, version, at, photo FROM measurement WHERE photo_id = $1 ORDER BY id DESC", photoID)
	return out, err
}
