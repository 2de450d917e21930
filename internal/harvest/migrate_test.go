package harvest

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"

	"gristmark/internal/result"
)

// TestSchemaForward opens a log as the first version of the schema left it, with data, and compares what it
// becomes with what this program makes anew.
func TestSchemaForward(t *testing.T) {
	for _, engine := range engines {
		t.Run(engine, func(t *testing.T) {
			opt, late := newOptions(t, "sqlite")
			if engine == "postgres" {
				postgresURL(t) // starts the server
				opt.Database = must(server.Database(t.Context()))(t)
			}
			replay(t, opt.Database, "testdata/v1."+engine+".sql")
			r := &rig{t: t, ctx: t.Context(), opt: opt, late: late}
			r.Log = must(Open(r.ctx, opt))(t)
			t.Cleanup(func() { _ = r.Close(context.Background()) })
			r.checkFirst()
			fresh, _ := newOptions(t, engine)
			l := must(Open(r.ctx, fresh))(t)
			defer l.Close(context.Background())
			if was, is := schema(t, r.engine), schema(t, l.engine); was != is {
				t.Errorf("brought forward the schema is\n%s\nand made anew\n%s", was, is)
			}
		})
	}
}

// replay runs the statements of a dump on an empty database.
func replay(t *testing.T, database, file string) {
	t.Helper()
	e := must(openEngine(database))(t)
	defer e.close()
	script := string(must(os.ReadFile(file))(t))
	if !e.postgres {
		script = "PRAGMA foreign_keys = OFF;" + script // a dump has its tables in the order of their names
	}
	if _, err := e.write.ExecContext(t.Context(), script); err != nil {
		t.Fatal(err)
	}
}

// checkFirst looks at the data of the dumps: what filled makes.
func (r *rig) checkFirst() {
	t := r.t
	r.adviser = r.Desk(must(r.SignIn(r.ctx, "Ada Adviser", adviserPassword))(t))
	harvest := must(r.adviser.Harvests(r.ctx, 0))(t)[0]
	if harvest.Loads != 1 || harvest.Photos != 4 {
		t.Errorf("the harvest has %d loads, %d photos", harvest.Loads, harvest.Photos)
	}
	load := must(r.adviser.Loads(r.ctx, harvest.ID, Filter{WithPhotos: true}))(t)[0]
	for _, p := range load.Photos { // the one that was not measured yet
		if p.State == Waiting {
			must(r.store.put(r.ctx, r.blobOf(p.ID), strings.NewReader("photo two"), 0, ""))(t)
		}
	}
	r.measuring(&fake{version: "2"})
	r.settle()
	load = must(r.adviser.Load(r.ctx, load.ID))(t)
	if load.Settings.Field != "Größe \"7\"; DROP TABLE load;--" || *load.Settings.DMPct != 34.25 || len(load.Typed) != 1 {
		t.Errorf("the load is %+v", load)
	}
	if k := load.Document.Sample.Kernels; k.Whole != 1 || k.Broken != 2 { // of two photos, one whole kernel named stover
		t.Errorf("it counts %d whole, %d broken", k.Whole, k.Broken)
	}
	if c := must(r.adviser.Corrections(r.ctx, load.ID))(t); len(c) != 1 || c[0].Class != result.Stover {
		t.Errorf("corrections: %+v", c)
	}
	must(r.adviser.AddHarvest(r.ctx, Harvest{FarmID: harvest.FarmID, Name: "Next"}))(t)
}

// schema lists all columns and indexes of the database.
func schema(t *testing.T, e *engine) string {
	t.Helper()
	query := "SELECT type || ' ' || name || ' ' || COALESCE(sql, '') FROM sqlite_schema WHERE name NOT LIKE 'sqlite_%' ORDER BY 1"
	if e.postgres {
		query = `SELECT table_name || '.' || column_name || ' ' || data_type || ' ' || is_nullable FROM information_schema.columns WHERE table_schema = 'public'
			UNION ALL SELECT indexdef FROM pg_indexes WHERE schemaname = 'public' ORDER BY 1`
	}
	var out []string
	err := each(t.Context(), e.read, func(r *sql.Rows) error {
		var line string
		err := r.Scan(&line)
		out = append(out, strings.Join(strings.Fields(line), " "))
		return err
	}, query)
	if err != nil {
		t.Fatal(err)
	}
	return strings.Join(out, "\n")
}

func TestALogOfANewerProgram(t *testing.T) {
	onBoth(t, func(t *testing.T, r *rig) {
		if _, err := r.engine.write.ExecContext(r.ctx, "INSERT INTO goose_db_version (version_id, is_applied) VALUES (99, $1)", true); err != nil {
			t.Fatal(err)
		}
		if _, err := Open(r.ctx, r.opt); err == nil || !strings.Contains(err.Error(), "newer version of the program") {
			t.Errorf("an older program opened it: %v", err)
		}
	})
}

func TestADeletedPhotoDoesNotComeBack(t *testing.T) { onBoth(t, deletedPhoto) }

func deletedPhoto(t *testing.T, r *rig) {
	one, two := r.load(Settings{}), r.load(Settings{})
	p := r.upload(one.ID, "a", "photo")
	r.upload(two.ID, "b", "photo")
	if err := errors.Join(r.adviser.DropPhoto(r.ctx, p.ID), r.adviser.DropLoad(r.ctx, two.ID)); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"a", "b"} {
		if _, _, err := r.adviser.Upload(r.ctx, one.ID, key, "a.jpg", strings.NewReader("photo"), 0); !errors.Is(err, ErrDeleted) {
			t.Errorf("upload %s sent again after it was deleted: %v", key, err)
		}
	}
	r.upload(one.ID, "c", "photo")
	if changes := fmt.Sprint(must(r.adviser.Changes(r.ctx, r.farm.ID, 0, 0))(t)); !strings.Contains(changes, "photo.delete") || !strings.Contains(changes, "load.delete") {
		t.Errorf("the audit tells %s", changes)
	}
}
