package harvest

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"gristmark/internal/result"
)

// Filter picks loads. Empty fields pick all.
type Filter struct {
	Field, Hybrid, Process string    // equal, whatever the case
	Text                   string    // in name, field, hybrid, process or note, whatever the case
	From, To               time.Time // of Load.At: From ≤ At < To
	WithParticles          bool      // the documents whole, not thin
	WithPhotos             bool      // the photos too, without their measurements
	Limit, Offset          int       // 0: all
	Newest                 bool      // newest first; else in time
}

// Loads returns the loads of a harvest in time, each with its newest document: thin, without pieces and
// the photos' checks, unless asked.
func (d *Desk) Loads(ctx context.Context, harvestID int64, f Filter) ([]Load, error) {
	q := d.log.engine.read
	if _, err := d.harvest(ctx, q, harvestID); err != nil {
		return nil, err
	}
	where, args := f.where(harvestID)
	column := "l.thin"
	if f.WithParticles {
		column = "l.document"
	}
	order := " ORDER BY l.at, l.id"
	if f.Newest {
		order = " ORDER BY l.at DESC, l.id DESC"
	}
	var out []Load
	err := each(ctx, q, func(r *sql.Rows) error {
		var raw []byte
		load, err := scanLoad(r.Scan, &raw)
		if err != nil {
			return err
		}
		load.Document, err = f.document(raw)
		out = append(out, load)
		return err
	}, loadColumns+column+" FROM load l"+where+order+f.window(), args...)
	if err == nil && f.WithPhotos {
		err = addPhotos(ctx, q, harvestID, out)
	}
	return out, err
}

func (f Filter) document(raw []byte) (*result.Document, error) {
	if len(raw) == 0 {
		return nil, nil
	}
	doc := new(result.Document)
	if f.WithParticles {
		return doc, unpack(raw, doc)
	}
	return doc, json.Unmarshal(raw, doc)
}

// where writes the filter's conditions; values only ever stand in the arguments.
func (f Filter) where(harvestID int64) (string, []any) {
	conds, args := []string{"l.harvest_id = $1"}, []any{harvestID}
	add := func(cond string, value any) {
		args = append(args, value)
		conds = append(conds, strings.ReplaceAll(cond, "?", fmt.Sprintf("$%d", len(args))))
	}
	for column, value := range map[string]string{"field": f.Field, "hybrid": f.Hybrid, "process": f.Process} {
		if value != "" {
			add("LOWER(l."+column+") = LOWER(?)", value)
		}
	}
	if f.Text != "" {
		text := "%" + strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`).Replace(strings.ToLower(f.Text)) + "%"
		add(`l.search LIKE ? ESCAPE '\'`, text)
	}
	if !f.From.IsZero() {
		add("l.at >= ?", micros(f.From))
	}
	if !f.To.IsZero() {
		add("l.at < ?", micros(f.To))
	}
	return " WHERE " + strings.Join(conds, " AND "), args
}

func (f Filter) window() string {
	if f.Limit <= 0 {
		return ""
	}
	return fmt.Sprintf(" LIMIT %d OFFSET %d", f.Limit, max(f.Offset, 0))
}

// addPhotos fills in the photos of loads, without measurements.
func addPhotos(ctx context.Context, q querier, harvestID int64, loads []Load) error {
	at := map[int64]*Load{}
	for i := range loads {
		at[loads[i].ID] = &loads[i]
	}
	where, args := "p.load_id IN (SELECT id FROM load WHERE harvest_id = $1)", []any{harvestID}
	if len(loads) <= 200 { // a page: not those of the whole harvest
		marks := make([]string, len(loads))
		args = args[:0]
		for i := range loads {
			marks[i] = fmt.Sprintf("$%d", i+1)
			args = append(args, loads[i].ID)
		}
		where = "p.load_id IN (" + strings.Join(append(marks, "-1"), ", ") + ")"
	}
	return each(ctx, q, func(r *sql.Rows) error {
		p, _, err := scanPhoto(r.Scan)
		if load := at[p.LoadID]; load != nil && err == nil {
			load.Photos = append(load.Photos, p)
		}
		return err
	}, photoColumns("NULL")+"WHERE "+where+" ORDER BY p.uploaded_at, p.id", args...)
}
