package harvest

import (
	"context"
	"database/sql"
	"encoding/json"
	"math"
	"strings"
	"time"
	"unicode/utf8"

	"gristmark/internal/result"
)

// settings checks and tidies what is known of a load.
func cleanSettings(s Settings) (Settings, error) {
	for _, line := range []struct {
		what string
		text *string
	}{{"the field", &s.Field}, {"the hybrid", &s.Hybrid}, {"the process", &s.Process}, {"the state", &s.State},
		{"what the photos show", &s.Show}, {"the scale", &s.Scale}, {"the kernel", &s.Kernel}} {
		var err error
		if *line.text, err = cleanLine(line.what, *line.text); err != nil {
			return s, err
		}
	}
	if !utf8.ValidString(s.Note) || strings.ContainsRune(s.Note, 0) || utf8.RuneCountInString(s.Note) > maxText {
		return s, bad("the note is no plain text of at most %d characters; shorten it", maxText)
	}
	for _, number := range []struct {
		what      string
		value     *float64
		low, high float64
	}{{"dry matter in percent", s.DMPct, 5, 95}, {"the length of cut in mm", s.TLOCMM, 1, 100}, {"the roll gap in mm", s.RollGapMM, 0, 50}} {
		if v := number.value; v != nil && !(*v >= number.low && *v <= number.high && !math.IsInf(*v, 0)) {
			return s, bad("%s must lie between %g and %g; correct it or leave it empty", number.what, number.low, number.high)
		}
	}
	return s, nil
}

func (d *Desk) cleanLoad(load Load) (Load, error) {
	var err error
	if load.Name, err = cleanLine("the load's name", load.Name); err != nil {
		return load, err
	}
	load.Settings, err = cleanSettings(load.Settings)
	return load, err
}

// searchText is what Filter.Text is looked for in.
func searchText(load Load) string {
	s := load.Settings
	return strings.ToLower(strings.Join([]string{load.Name, s.Field, s.Hybrid, s.Process, s.Note}, " "))
}

// AddLoad makes a load in load.HarvestID. Without a time it is sampled now, until its photos tell an earlier time.
func (d *Desk) AddLoad(ctx context.Context, load Load) (Load, error) {
	load, err := d.cleanLoad(load)
	if err != nil {
		return Load{}, err
	}
	settings, err := json.Marshal(load.Settings)
	if err != nil {
		return Load{}, err
	}
	given := 1
	if load.At.IsZero() {
		load.At, given = d.log.now(), 0
	}
	var out Load
	err = d.log.inTx(ctx, func(tx *sql.Tx) error {
		p, err := d.entering(ctx, tx, load.HarvestID)
		if err != nil {
			return err
		}
		by, err := d.by(ctx, tx)
		if err != nil {
			return err
		}
		var id int64
		err = tx.QueryRowContext(ctx, `INSERT INTO load (harvest_id, name, field, hybrid, process, settings, at, at_given, by_name, version, search)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, 1, $10) RETURNING id`, load.HarvestID, load.Name, load.Settings.Field, load.Settings.Hybrid,
			load.Settings.Process, string(settings), micros(load.At), given, by, searchText(load)).Scan(&id)
		if err != nil {
			return err
		}
		if err := d.note(ctx, tx, p.farm, "load.add", object("load", id), detail{"name": load.Name, "settings": load.Settings}); err != nil {
			return err
		}
		out, err = readLoad(ctx, tx, id)
		return err
	})
	return out, err
}

// entering checks that loads may be added to a harvest.
func (d *Desk) entering(ctx context.Context, q querier, harvestID int64) (place, error) {
	p, err := harvestPlace(ctx, q, harvestID)
	if err == nil {
		err = d.may(ctx, q, p, toEnter)
	}
	return p, d.orLinkOverIf(ctx, q, err)
}

func (d *Desk) orLinkOverIf(ctx context.Context, q querier, err error) error {
	if err == nil {
		return nil
	}
	return d.orLinkOver(ctx, q, err)
}

// atLoad checks what may be done to a load.
func (d *Desk) atLoad(ctx context.Context, q querier, id int64, n need) (place, error) {
	p, err := loadPlace(ctx, q, id)
	if err == nil {
		err = d.may(ctx, q, p, n)
	}
	return p, d.orLinkOverIf(ctx, q, err)
}

// Load returns all of a load: photos with their newest measurement, document, typed results.
func (d *Desk) Load(ctx context.Context, id int64) (Load, error) {
	q := d.log.engine.read
	if _, err := d.atLoad(ctx, q, id, toLook); err != nil {
		return Load{}, err
	}
	return readLoad(ctx, q, id)
}

const loadColumns = "SELECT l.id, l.harvest_id, l.name, l.settings, l.at, l.by_name, l.version, "

// scanLoad reads loadColumns and one column more.
func scanLoad(scan func(...any) error, more any) (load Load, err error) {
	var settings string
	var at int64
	if err = scan(&load.ID, &load.HarvestID, &load.Name, &settings, &at, &load.By, &load.Version, more); err != nil {
		return load, err
	}
	load.At = moment(at)
	return load, json.Unmarshal([]byte(settings), &load.Settings)
}

func readLoad(ctx context.Context, q querier, id int64) (Load, error) {
	var document []byte
	load, err := scanLoad(q.QueryRowContext(ctx, loadColumns+"l.document FROM load l WHERE l.id = $1", id).Scan, &document)
	if err != nil {
		return Load{}, noneIfNoRow(err)
	}
	if len(document) > 0 {
		load.Document = new(result.Document)
		if err := unpack(document, load.Document); err != nil {
			return Load{}, err
		}
	}
	if load.Photos, err = readPhotos(ctx, q, "p.load_id = $1", id); err != nil {
		return Load{}, err
	}
	load.Typed, err = readTyped(ctx, q, id)
	return load, err
}

// ChangeLoad changes name, time and settings of a load. load.Version must be that of the log, else ErrStale.
// What the settings say of how photos are measured counts for photos measured after it; see RemeasureLoad.
func (d *Desk) ChangeLoad(ctx context.Context, load Load) (Load, error) {
	load, err := d.cleanLoad(load)
	if err != nil {
		return Load{}, err
	}
	settings, err := json.Marshal(load.Settings)
	if err != nil {
		return Load{}, err
	}
	var out Load
	err = d.log.inTx(ctx, func(tx *sql.Tx) error {
		p, err := d.atLoad(ctx, tx, load.ID, toEnter)
		if err != nil {
			return err
		}
		had, err := readLoad(ctx, tx, load.ID)
		if err != nil {
			return err
		}
		at, given := had.At, "at_given"
		if !load.At.IsZero() && !load.At.Equal(had.At) {
			at, given = load.At, "1"
		}
		res, err := tx.ExecContext(ctx, `UPDATE load SET name = $3, field = $4, hybrid = $5, process = $6, settings = $7, at = $8, search = $9,
			at_given = `+given+`, version = version + 1 WHERE id = $1 AND version = $2`,
			load.ID, load.Version, load.Name, load.Settings.Field, load.Settings.Hybrid, load.Settings.Process, string(settings), micros(at), searchText(load))
		if err != nil {
			return err
		}
		if n, err := res.RowsAffected(); err != nil || n == 0 {
			return orNil(err == nil, ErrStale)
		}
		if err := d.log.outdate(ctx, tx, load.ID); err != nil {
			return err
		}
		change := detail{"from": detail{"name": had.Name, "at": had.At, "settings": had.Settings}, "to": detail{"name": load.Name, "at": at, "settings": load.Settings}}
		if err := d.note(ctx, tx, p.farm, "load.change", object("load", load.ID), change); err != nil {
			return err
		}
		out, err = readLoad(ctx, tx, load.ID)
		return err
	})
	if err != nil {
		return Load{}, err
	}
	return d.judged(ctx, out)
}

// judged brings the judgement of a load up to date where this process measures, and tells the watchers.
func (d *Desk) judged(ctx context.Context, load Load) (Load, error) {
	defer d.log.watchers.wake(load.ID)
	m := d.log.measurer.Load()
	if m == nil {
		return load, nil // the queue judges it
	}
	if err := d.log.judge(ctx, *m, load.ID); err != nil {
		d.log.opt.Logger.Error("a load could not be judged", "load", load.ID, "error", err)
		return load, nil // the change is kept, and the queue tries again
	}
	return readLoad(ctx, d.log.engine.read, load.ID)
}

// DropLoad deletes a load with its photos.
func (d *Desk) DropLoad(ctx context.Context, id int64) error {
	var blobs []string
	err := d.log.inTx(ctx, func(tx *sql.Tx) error {
		p, err := d.atLoad(ctx, tx, id, toRule)
		if err != nil {
			return err
		}
		if blobs, err = blobsOf(ctx, tx, "p.load_id = $1", id); err != nil {
			return err
		}
		if err := d.log.rememberDropped(ctx, tx, "p.load_id = $2", id); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, "DELETE FROM load WHERE id = $1", id); err != nil {
			return err
		}
		return d.note(ctx, tx, p.farm, "load.delete", object("load", id), detail{"blobs": len(blobs)})
	})
	d.log.dropBlobs(ctx, err, blobs)
	d.log.watchers.wake(id)
	return err
}

// LastSettings returns the settings of the load that was entered last, without its note; zero where there is none.
func (d *Desk) LastSettings(ctx context.Context, harvestID int64) (Settings, error) {
	q := d.log.engine.read
	if _, err := d.harvest(ctx, q, harvestID); err != nil {
		return Settings{}, err
	}
	var text string
	err := q.QueryRowContext(ctx, "SELECT settings FROM load WHERE harvest_id = $1 ORDER BY id DESC LIMIT 1", harvestID).Scan(&text)
	if err == sql.ErrNoRows {
		return Settings{}, nil
	}
	if err != nil {
		return Settings{}, databaseFault(err)
	}
	var s Settings
	err = json.Unmarshal([]byte(text), &s)
	s.Note = ""
	return s, err
}

// earliest moves a load's time to that of its earliest photo, unless its time was entered.
func earliest(ctx context.Context, tx *sql.Tx, loadID int64, taken *string, uploaded time.Time) error {
	if taken == nil {
		return nil
	}
	at, err := time.Parse(time.RFC3339, *taken)
	if err != nil || at.After(uploaded) {
		return nil // a clock without an offset, or one that is wrong, tells nothing
	}
	_, err = tx.ExecContext(ctx, "UPDATE load SET at = $2 WHERE id = $1 AND at_given = 0 AND at > $2", loadID, micros(at))
	return err
}
