package harvest

import (
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"
)

func TestLoadsAndFilters(t *testing.T) { onBoth(t, loadsAndFilters) }

func loadsAndFilters(t *testing.T, r *rig) {
	day := time.Date(2024, 9, 10, 8, 0, 0, 0, time.UTC)
	for i, s := range []Settings{{Field: "Long Field", Hybrid: "A", Process: "rolls"}, {Field: "Hill", Hybrid: "A", Process: "none"},
		{Field: "Hill", Hybrid: "B", Process: "rolls", Note: "100% ripe_ish"}, {Field: `O'Neill"; --`, Hybrid: "<b>", Note: "östlich <b>"}} {
		must(r.adviser.AddLoad(r.ctx, Load{HarvestID: r.harvest.ID, Name: fmt.Sprint("Load ", i), Settings: s, At: day.Add(time.Duration(i) * time.Hour)}))(t)
	}
	for _, c := range []struct {
		f    Filter
		want string
	}{
		{Filter{}, "0123"}, {Filter{Newest: true}, "3210"}, {Filter{Limit: 2, Offset: 1}, "12"}, {Filter{Newest: true, Limit: 1}, "3"},
		{Filter{Field: "hill"}, "12"}, {Filter{Hybrid: "A", Process: "rolls"}, "0"}, {Filter{Field: `O'Neill"; --`}, "3"},
		{Filter{Text: "HILL"}, "12"}, {Filter{Text: "load 2"}, "2"}, {Filter{Text: "%"}, "2"}, {Filter{Text: "_"}, "2"}, {Filter{Text: "field"}, "0"}, {Filter{Text: "ÖSTLICH <b>"}, "3"}, {Filter{Text: `'; DROP TABLE load; --`}, ""},
		{Filter{From: day.Add(time.Hour), To: day.Add(3 * time.Hour)}, "12"},
	} {
		got := ""
		for _, load := range must(r.adviser.Loads(r.ctx, r.harvest.ID, c.f))(t) {
			got += strings.TrimPrefix(load.Name, "Load ")
		}
		if got != c.want {
			t.Errorf("%+v picks %q, want %q", c.f, got, c.want)
		}
	}
	if s := must(r.adviser.LastSettings(r.ctx, r.harvest.ID))(t); s.Hybrid != "<b>" {
		t.Errorf("the last settings are %+v", s)
	}
}

func TestChangingALoad(t *testing.T) { onBoth(t, changing) }

func changing(t *testing.T, r *rig) {
	load := r.load(Settings{Field: "Hill"})
	first := load
	load.Settings.Field = "Long Field"
	load = must(r.adviser.ChangeLoad(r.ctx, load))(t)
	if load.Version != first.Version+1 || load.Settings.Field != "Long Field" || !load.At.Equal(first.At) {
		t.Errorf("changed to %+v", load)
	}
	if _, err := r.adviser.ChangeLoad(r.ctx, first); !errors.Is(err, ErrStale) {
		t.Errorf("a change of an old version: %v", err)
	}
	low := 3.0
	for name, bad := range map[string]Load{
		"dry matter": {Settings: Settings{DMPct: &low}}, "long field": {Settings: Settings{Field: strings.Repeat("x", 81)}},
		"control": {Name: "a\x00b"}, "bytes": {Settings: Settings{Hybrid: "\xff"}}, "note": {Settings: Settings{Note: strings.Repeat("x", 4001)}},
	} {
		bad.HarvestID = r.harvest.ID
		if _, err := r.adviser.AddLoad(r.ctx, bad); !errors.Is(err, ErrInput) {
			t.Errorf("%s: %v", name, err)
		}
	}
	changes := must(r.adviser.Changes(r.ctx, r.farm.ID, 0, 2))(t)
	if len(changes) != 2 || changes[0].What != "load.change" || changes[0].By != "Ada Adviser" || changes[0].Object != fmt.Sprint("load ", load.ID) ||
		!strings.Contains(changes[0].Detail, "Hill") || changes[1].What != "load.add" {
		t.Errorf("the audit tells %+v", changes)
	}
	if older := must(r.adviser.Changes(r.ctx, r.farm.ID, changes[1].ID, 0))(t); len(older) != 2 || older[0].What != "harvest.add" {
		t.Errorf("before that it tells %+v", older)
	}
}

func TestALoadTakesTheTimeOfItsEarliestPhoto(t *testing.T) { onBoth(t, earliestPhoto) }

func earliestPhoto(t *testing.T, r *rig) {
	free := r.load(Settings{})
	given := must(r.adviser.AddLoad(r.ctx, Load{HarvestID: r.harvest.ID, At: time.Date(2024, 9, 1, 12, 0, 0, 0, time.UTC)}))(t)
	for i, taken := range []string{"2024-09-03T10:00:00+02:00", "2024-09-03T09:30:00+02:00", "2024-09-03T07:00:00", "2999-01-01T00:00:00Z"} {
		r.upload(free.ID, fmt.Sprint("a", i), "photo taken "+taken)
		r.upload(given.ID, fmt.Sprint("b", i), "photo taken "+taken)
	}
	r.measuring(&fake{version: "1"})
	r.settle()
	if at := must(r.adviser.Load(r.ctx, free.ID))(t).At; !at.Equal(time.Date(2024, 9, 3, 7, 30, 0, 0, time.UTC)) {
		t.Errorf("the load was sampled at %v", at)
	}
	if at := must(r.adviser.Load(r.ctx, given.ID))(t).At; !at.Equal(given.At) {
		t.Errorf("the time that was entered became %v", at)
	}
}

func TestLoadsAreFull(t *testing.T) {
	onBoth(t, func(t *testing.T, r *rig) {
		load := r.load(Settings{})
		for i := range MaxPhotos {
			r.upload(load.ID, fmt.Sprint(i), "photo")
		}
		if _, _, err := r.adviser.Upload(r.ctx, load.ID, "one more", "a.jpg", strings.NewReader("photo"), 0); !errors.Is(err, ErrInput) {
			t.Errorf("one photo more than a load takes: %v", err)
		}
		if _, again, err := r.adviser.Upload(r.ctx, load.ID, "7", "a.jpg", strings.NewReader("photo"), 0); err != nil || !again {
			t.Errorf("a repeat to a full load: %v, %v", again, err)
		}
	})
}

func TestFileNames(t *testing.T) {
	for from, want := range map[string]string{
		"IMG_1.jpg": "IMG_1.jpg", "../../etc/passwd": "passwd", `C:\Photos\a.jpg`: "a.jpg", "": "photo", "..": "photo", "/": "photo",
		"a\x00\r\nb.jpg": "ab.jpg", "\xff\xfe": "photo", "<script>.jpg": "<script>.jpg", strings.Repeat("ü", 200): strings.Repeat("ü", 80),
	} {
		if got := cleanFile(from); got != want {
			t.Errorf("%q became %q, want %q", from, got, want)
		}
	}
}

// TestTenThousandLoads looks at what a list reads: thin documents alone, by the index.
func TestTenThousandLoads(t *testing.T) { onBoth(t, tenThousand) }

func tenThousand(t *testing.T, r *rig) {
	load := r.load(Settings{Field: "Hill"})
	for i := range 6 {
		r.upload(load.ID, fmt.Sprint(i), fmt.Sprint("photo", i))
	}
	stop := r.measuring(&fake{version: "1"})
	r.settle()
	stop()
	_, err := r.engine.write.ExecContext(r.ctx, `WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 9999)
		INSERT INTO load (harvest_id, name, field, hybrid, process, settings, at, at_given, by_name, version, thin, document)
		SELECT harvest_id, 'Load ' || CAST(i AS TEXT), field, hybrid, process, settings, at + i, at_given, by_name, version, thin, document FROM load, n`)
	if err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	all := must(r.adviser.Loads(r.ctx, r.harvest.ID, Filter{}))(t)
	t.Logf("all 10,000 loads in %v", time.Since(began))
	if len(all) != 10_000 || all[9999].Name != "Load 9999" || all[9999].Document.Sample == nil || all[9999].Document.Photos[0].Particles != nil {
		t.Errorf("%d loads, the last %+v", len(all), all[len(all)-1])
	}
	began = time.Now()
	page := must(r.adviser.Loads(r.ctx, r.harvest.ID, Filter{Newest: true, Limit: 50, WithPhotos: true}))(t)
	t.Logf("a page of 50 in %v", time.Since(began))
	if len(page) != 50 || page[0].Name != "Load 9999" {
		t.Errorf("the first page has %d loads", len(page))
	}
	if r.engine.postgres {
		return // it may well read a table from end to end that is all of one harvest
	}
	where, args := Filter{}.where(r.harvest.ID)
	plan := ""
	err = each(r.ctx, r.engine.read, func(rows *sql.Rows) error {
		var id, parent, unused int
		var step string
		err := rows.Scan(&id, &parent, &unused, &step)
		plan += step + "; "
		return err
	}, "EXPLAIN QUERY PLAN "+loadColumns+"l.thin FROM load l"+where+" ORDER BY l.at, l.id", args...)
	if err != nil || !strings.Contains(plan, "load_harvest_at") || strings.Contains(plan, "TEMP B-TREE") {
		t.Errorf("the list is read by %s, %v", plan, err)
	}
}
