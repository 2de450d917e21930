package harvest

import (
	"context"
	"database/sql"
	"errors"
	"io"
	"path"
	"strings"
	"unicode"
	"unicode/utf8"
)

// MaxPhotos is how many photos a load takes.
const MaxPhotos = 40

const maxKey = 200 // characters of an idempotency key

// Upload takes a photo of at most maxBytes (0: any size). When it returns nil the photo is on disk and in
// the log, and its measuring is queued. The same key of the same uploader answers with the photo that came
// first, and again true, or ErrDeleted where that was deleted since; an empty key never repeats.
func (d *Desk) Upload(ctx context.Context, loadID int64, key, file string, r io.Reader, maxBytes int64) (Photo, bool, error) {
	if !utf8.ValidString(key) || utf8.RuneCountInString(key) > maxKey || strings.ContainsRune(key, 0) {
		return Photo{}, false, bad("the upload's key is no plain text of at most %d characters", maxKey)
	}
	if key == "" {
		key = newToken()
	}
	q := d.log.engine.read
	if _, err := d.atLoad(ctx, q, loadID, toEnter); err != nil {
		return Photo{}, false, err
	}
	if first, err := d.uploaded(ctx, key); !errors.Is(err, ErrNone) {
		return first, err == nil, err
	}
	if err := roomFor(ctx, q, loadID); err != nil {
		return Photo{}, false, err
	}
	return d.keep(ctx, loadID, key, cleanFile(file), r, maxBytes)
}

// uploaded returns the photo that came with this key; ErrNone when none did.
func (d *Desk) uploaded(ctx context.Context, key string) (Photo, error) {
	q := d.log.engine.read
	var id string
	err := q.QueryRowContext(ctx, "SELECT id FROM photo WHERE uploader = $1 AND upload_key = $2", d.uploader(), key).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return Photo{}, d.deleted(ctx, q, key)
	}
	if err != nil {
		return Photo{}, databaseFault(err)
	}
	if _, err := d.atPhoto(ctx, q, id, toLook); err != nil {
		return Photo{}, orRight(err)
	}
	return readPhoto(ctx, q, id)
}

// deleted tells ErrDeleted when the photo of this key was deleted, else ErrNone.
func (d *Desk) deleted(ctx context.Context, q querier, key string) error {
	var n int
	err := q.QueryRowContext(ctx, "SELECT COUNT(*) FROM dropped_upload WHERE uploader = $1 AND upload_key = $2", d.uploader(), key).Scan(&n)
	if err != nil || n == 0 {
		return errors.Join(databaseFault(err), orNil(err == nil, ErrNone))
	}
	return ErrDeleted
}

// rememberDropped keeps the keys of photos about to be deleted.
func (l *Log) rememberDropped(ctx context.Context, tx *sql.Tx, where string, arg any) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO dropped_upload (uploader, upload_key, at)
		SELECT p.uploader, p.upload_key, CAST($1 AS BIGINT) FROM photo p WHERE `+where+` ON CONFLICT DO NOTHING`, micros(l.now()), arg)
	return err
}

// orRight answers for a photo that lies where its uploader has no right any more.
func orRight(err error) error {
	if errors.Is(err, ErrNone) {
		return ErrRight
	}
	return err
}

func roomFor(ctx context.Context, q querier, loadID int64) error {
	var n int
	if err := q.QueryRowContext(ctx, "SELECT COUNT(*) FROM photo WHERE load_id = $1", loadID).Scan(&n); err != nil {
		return databaseFault(err)
	}
	if n >= MaxPhotos {
		return bad("this load has %d photos already, and no load takes more; make another load", n)
	}
	return nil
}

// keep stores the bytes, then enters photo and job in one transaction. What ends between the two leaves
// a blob that nothing points to, for the sweep.
func (d *Desk) keep(ctx context.Context, loadID int64, key, file string, r io.Reader, maxBytes int64) (Photo, bool, error) {
	blobKey := "photo/" + newToken()
	d.log.flying.Store(blobKey, true)
	defer d.log.flying.Delete(blobKey)
	s, err := d.log.store.put(ctx, blobKey, r, maxBytes, "application/octet-stream")
	if err != nil {
		return Photo{}, false, err
	}
	if s.Bytes == 0 {
		return Photo{}, false, errors.Join(bad("the photo is empty; take it again"), d.log.store.drop(ctx, blobKey))
	}
	id := newPhotoID()
	err = d.log.inTx(ctx, func(tx *sql.Tx) error { return d.enter(ctx, tx, loadID, id, blobKey, key, file, s) })
	if err != nil {
		return d.notEntered(ctx, key, blobKey, err)
	}
	d.log.watchers.wake(loadID)
	photo, err := readPhoto(ctx, d.log.engine.read, id)
	return photo, false, err
}

// enter writes the photo's row and its job; rights are looked at again, for sending may have taken long.
func (d *Desk) enter(ctx context.Context, tx *sql.Tx, loadID int64, id, blobKey, key, file string, s stored) error {
	p, err := d.atLoad(ctx, tx, loadID, toEnter)
	if err != nil {
		return err
	}
	by, err := d.by(ctx, tx)
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO photo (id, load_id, blob, file, sha256, bytes, uploaded_at, by_name, uploader, upload_key, state)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)`,
		id, loadID, blobKey, file, s.SHA256, s.Bytes, micros(d.log.now()), by, d.uploader(), key, Waiting)
	if err != nil {
		return err
	}
	if err := d.log.note(ctx, tx, p.farm, by, "photo.add", object("photo", id), detail{"load": loadID, "sha256": s.SHA256}); err != nil {
		return err
	}
	return d.log.queueMeasure(ctx, tx, id, 1)
}

// notEntered answers when the transaction failed: perhaps the same upload came through beside this one.
// The blob stays where it is not sure that nothing points to it: a commit may be through though its answer was lost.
func (d *Desk) notEntered(ctx context.Context, key, blobKey string, failed error) (Photo, bool, error) {
	if isUnique(failed) {
		if first, err := d.uploaded(ctx, key); err == nil {
			return first, true, d.log.store.drop(ctx, blobKey)
		}
	}
	if !errors.Is(failed, ErrDatabase) {
		_ = d.log.store.drop(ctx, blobKey)
	}
	return Photo{}, false, failed
}

// cleanFile keeps of a file's name what is safe to show: no folders, no control characters, at most 80 characters.
func cleanFile(name string) string {
	name = path.Base(strings.ReplaceAll(strings.ToValidUTF8(name, ""), `\`, "/"))
	name = strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return -1
		}
		return r
	}, name)
	if runes := []rune(name); len(runes) > maxName {
		name = string(runes[:maxName])
	}
	if name = strings.TrimSpace(name); name == "" || name == "." || name == "/" || name == ".." {
		return "photo"
	}
	return name
}
