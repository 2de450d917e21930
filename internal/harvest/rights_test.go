package harvest

import (
	"context"
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"gristmark/internal/result"
)

// asked is what the table's calls need: things of the rig's farm, made anew where a call uses them up.
type asked struct {
	ctx          context.Context
	r            *rig
	photo        Photo
	load         Load
	typed        Typed
	other        int64 // account of a member that roles are changed of
	throwLoad    Load
	throwPhoto   Photo
	throwLink    CrewLink
	throwHarvest Harvest
}

// callers in the order of the table's columns.
var callers = []string{"adviser", "crew", "reader", "link", "other link", "stranger", "dropped", "revoked", "expired", "deleted"}

// calls lists every method of Desk with its answer to each caller: ok, R ErrRight, N ErrNone, L ErrLink.
// A caller who only sees his own gets ok and an empty list: e.
var calls = []struct {
	method  string
	answers string // one letter a caller
	call    func(a *asked, d *Desk) (any, error)
}{
	{"Farms", "oooooeeLLe", func(a *asked, d *Desk) (any, error) { return only(a.r.farm.ID, Farm.id)(d.Farms(a.ctx)) }},
	{"Members", "oooRRNNLLN", func(a *asked, d *Desk) (any, error) { return d.Members(a.ctx, a.r.farm.ID) }},
	{"Invite", "oRRRRNNLLN", func(a *asked, d *Desk) (any, error) { return d.Invite(a.ctx, a.r.farm.ID, Crew, time.Hour) }},
	{"SetRole", "oRRRRNNLLN", func(a *asked, d *Desk) (any, error) {
		return nil, d.SetRole(a.ctx, a.r.farm.ID, a.other, Reader)
	}},
	{"Harvests", "oooooNNLLN", func(a *asked, d *Desk) (any, error) { return d.Harvests(a.ctx, a.r.farm.ID) }},
	{"Harvests", "oooooeeLLe", func(a *asked, d *Desk) (any, error) { return only(a.r.farm.ID, Harvest.farm)(d.Harvests(a.ctx, 0)) }},
	{"Harvest", "ooooNNNLLN", func(a *asked, d *Desk) (any, error) { return d.Harvest(a.ctx, a.r.harvest.ID) }},
	{"AddHarvest", "oRRRRNNLLN", func(a *asked, d *Desk) (any, error) {
		return d.AddHarvest(a.ctx, Harvest{FarmID: a.r.farm.ID, Name: "Another"})
	}},
	{"ChangeHarvest", "oRRRNNNLLN", func(a *asked, d *Desk) (any, error) { return d.ChangeHarvest(a.ctx, a.r.harvest) }},
	{"DropHarvest", "oRRNNNNLLN", func(a *asked, d *Desk) (any, error) { return nil, d.DropHarvest(a.ctx, a.throwHarvest.ID) }},
	{"Remeasure", "oRRRNNNLLN", func(a *asked, d *Desk) (any, error) { return d.Remeasure(a.ctx, a.r.harvest.ID) }},
	{"AddCrewLink", "oRRRNNNLLN", func(a *asked, d *Desk) (any, error) {
		_, l, err := d.AddCrewLink(a.ctx, a.r.harvest.ID, "wagon", time.Hour)
		return l, err
	}},
	{"CrewLinks", "oRRRNNNLLN", func(a *asked, d *Desk) (any, error) { return d.CrewLinks(a.ctx, a.r.harvest.ID) }},
	{"RevokeCrewLink", "oRRRNNNLLN", func(a *asked, d *Desk) (any, error) { return nil, d.RevokeCrewLink(a.ctx, a.throwLink.ID) }},
	{"Loads", "ooooNNNLLN", func(a *asked, d *Desk) (any, error) { return d.Loads(a.ctx, a.r.harvest.ID, Filter{}) }},
	{"Load", "ooooNNNLLN", func(a *asked, d *Desk) (any, error) { return d.Load(a.ctx, a.load.ID) }},
	{"AddLoad", "ooRoNNNLLN", func(a *asked, d *Desk) (any, error) { return d.AddLoad(a.ctx, Load{HarvestID: a.r.harvest.ID}) }},
	{"ChangeLoad", "ooRoNNNLLN", func(a *asked, d *Desk) (any, error) {
		load := must(a.r.adviser.Load(a.ctx, a.load.ID))(a.r.t)
		load.Settings.Note += "."
		return d.ChangeLoad(a.ctx, load)
	}},
	{"DropLoad", "oRRRNNNLLN", func(a *asked, d *Desk) (any, error) { return nil, d.DropLoad(a.ctx, a.throwLoad.ID) }},
	{"RemeasureLoad", "ooRoNNNLLN", func(a *asked, d *Desk) (any, error) { return d.RemeasureLoad(a.ctx, a.throwLoad.ID) }},
	{"LastSettings", "ooooNNNLLN", func(a *asked, d *Desk) (any, error) {
		_, err := d.LastSettings(a.ctx, a.r.harvest.ID)
		return a, err
	}},
	{"Upload", "ooRoNNNLLN", func(a *asked, d *Desk) (any, error) {
		p, _, err := d.Upload(a.ctx, a.load.ID, "", "a.jpg", strings.NewReader("bytes"), 0)
		return p, err
	}},
	{"Import", "ooRoNNNLLN", func(a *asked, d *Desk) (any, error) {
		p, _, err := d.Import(a.ctx, a.load.ID, Imported{File: "a.jpg", Data: []byte("bytes"), Photo: result.Photo{Status: result.Measured}, Keep: []byte("keep of ")}, &fake{version: "1"})
		return p, err
	}},
	{"LoadNamed", "ooooNNNLLN", func(a *asked, d *Desk) (any, error) { return d.LoadNamed(a.ctx, a.r.harvest.ID, "") }},
	{"Photo", "ooooNNNLLN", func(a *asked, d *Desk) (any, error) { return d.Photo(a.ctx, a.photo.ID) }},
	{"OpenPhoto", "ooooNNNLLN", func(a *asked, d *Desk) (any, error) { return d.OpenPhoto(a.ctx, a.photo.ID) }},
	{"OpenOverlay", "ooooNNNLLN", func(a *asked, d *Desk) (any, error) { return d.OpenOverlay(a.ctx, a.photo.ID) }},
	{"DropPhoto", "oRRRNNNLLN", func(a *asked, d *Desk) (any, error) { return nil, d.DropPhoto(a.ctx, a.throwPhoto.ID) }},
	{"Measurements", "ooooNNNLLN", func(a *asked, d *Desk) (any, error) { return d.Measurements(a.ctx, a.photo.ID) }},
	{"Correct", "ooRoNNNLLN", func(a *asked, d *Desk) (any, error) { return d.Correct(a.ctx, a.photo.ID, 1, result.Stover) }},
	{"Uncorrect", "ooRoNNNLLN", func(a *asked, d *Desk) (any, error) {
		must(a.r.adviser.Correct(a.ctx, a.photo.ID, 2, result.Stover))(a.r.t)
		return d.Uncorrect(a.ctx, a.photo.ID, 2)
	}},
	{"Corrections", "ooooNNNLLN", func(a *asked, d *Desk) (any, error) { return d.Corrections(a.ctx, a.load.ID) }},
	{"AddTyped", "ooRoNNNLLN", func(a *asked, d *Desk) (any, error) {
		return d.AddTyped(a.ctx, a.load.ID, TypedCup, map[string]string{"whole": "3"})
	}},
	{"DropTyped", "ooRoNNNLLN", func(a *asked, d *Desk) (any, error) { return nil, d.DropTyped(a.ctx, a.typed.ID) }},
	{"Changes", "oRRRRNNLLN", func(a *asked, d *Desk) (any, error) { return d.Changes(a.ctx, a.r.farm.ID, 0, 0) }},
	// What is the account's own.
	{"AddFarm", "oooRRooLLN", func(a *asked, d *Desk) (any, error) { return d.AddFarm(a.ctx, "His own") }},
	{"AddToken", "oooRRooLLN", func(a *asked, d *Desk) (any, error) {
		_, t, err := d.AddToken(a.ctx, "script", time.Hour)
		return t, err
	}},
	{"Tokens", "oooRRooLLN", func(a *asked, d *Desk) (any, error) {
		_, err := d.Tokens(a.ctx)
		return a, err
	}},
	{"DropToken", "NNNRRNNLLN", func(a *asked, d *Desk) (any, error) { return nil, d.DropToken(a.ctx, 1<<40) }},
	{"ChangePassword", "SSSRRSSLLN", func(a *asked, d *Desk) (any, error) {
		return nil, d.ChangePassword(a.ctx, "not the old one", "another long one")
	}},
}

// notRights are methods of Desk that ask for nothing.
var notRights = []string{"Who"}

func TestWhoMayDoWhat(t *testing.T) { onBoth(t, whoMayDoWhat) }

func whoMayDoWhat(t *testing.T, r *rig) {
	listed := map[string]bool{}
	for _, name := range notRights {
		listed[name] = true
	}
	desks := r.callers()
	a := r.things()
	for _, c := range calls {
		listed[c.method] = true
		for i, caller := range callers {
			if i == 0 || usesUp(c.method) {
				a.renew()
			}
			got, err := c.call(a, desks[caller])
			if want := string(c.answers[i]); letter(got, err) != want {
				t.Errorf("%s by %s answered %s, %v; want %s", c.method, caller, letter(got, err), err, want)
			}
			if closer, ok := got.(interface{ Close() error }); ok && err == nil {
				closer.Close()
			}
		}
	}
	desk := reflect.TypeFor[*Desk]()
	for i := range desk.NumMethod() {
		if name := desk.Method(i).Name; !listed[name] {
			t.Errorf("%s is not in the table of who may do what", name)
		}
	}
}

// usesUp tells whether a call leaves less than it found.
func usesUp(method string) bool {
	return strings.HasPrefix(method, "Drop") || method == "RevokeCrewLink" || method == "Upload" || method == "Import" || method == "ChangePassword"
}

func (f Farm) id() int64      { return f.ID }
func (h Harvest) farm() int64 { return h.FarmID }

// only keeps of a list what is of one farm.
func only[T any](farm int64, of func(T) int64) func([]T, error) ([]T, error) {
	return func(list []T, err error) ([]T, error) {
		return slices.DeleteFunc(list, func(e T) bool { return of(e) != farm }), err
	}
}

func letter(got any, err error) string {
	switch {
	case errors.Is(err, ErrRight):
		return "R"
	case errors.Is(err, ErrNone):
		return "N"
	case errors.Is(err, ErrLink):
		return "L"
	case errors.Is(err, ErrSignIn):
		return "S"
	case err != nil:
		return "?"
	}
	if v := reflect.ValueOf(got); v.Kind() == reflect.Slice && v.Len() == 0 {
		return "e"
	}
	return "o"
}

// callers returns a desk for each name in callers.
func (r *rig) callers() map[string]*Desk {
	t := r.t
	t.Helper()
	linked := func(harvest int64, life time.Duration) (*Desk, CrewLink) {
		token, link, err := r.adviser.AddCrewLink(r.ctx, harvest, "phone", life)
		if err != nil {
			t.Fatal(err)
		}
		return r.Desk(must(r.CrewLink(r.ctx, token))(t)), link
	}
	d := map[string]*Desk{"adviser": r.adviser, "crew": r.joined("Cleo Crew", Crew), "reader": r.joined("Rita Reader", Reader), "dropped": r.joined("Dora Dropped", Adviser)}
	if err := r.adviser.SetRole(r.ctx, r.farm.ID, d["dropped"].who.AccountID, ""); err != nil {
		t.Fatal(err)
	}
	d["link"], _ = linked(r.harvest.ID, 24*time.Hour)
	other := must(r.adviser.AddHarvest(r.ctx, Harvest{FarmID: r.farm.ID, Name: "Bunker 2"}))(t)
	d["other link"], _ = linked(other.ID, 24*time.Hour)
	revoked, link := linked(r.harvest.ID, 24*time.Hour)
	if err := r.adviser.RevokeCrewLink(r.ctx, link.ID); err != nil {
		t.Fatal(err)
	}
	d["revoked"] = revoked
	d["expired"], _ = linked(r.harvest.ID, time.Minute)
	r.late.add(2 * time.Minute)
	d["stranger"] = r.stranger()
	gone := r.joined("Gone", Adviser)
	if _, err := r.engine.write.ExecContext(r.ctx, "DELETE FROM account WHERE id = $1", gone.who.AccountID); err != nil {
		t.Fatal(err)
	}
	d["deleted"] = gone
	return d
}

// stranger is the adviser of another farm.
func (r *rig) stranger() *Desk {
	lone := must(r.adviser.AddFarm(r.ctx, "South Farm"))(r.t)
	token := must(r.adviser.Invite(r.ctx, lone.ID, Adviser, time.Hour))(r.t)
	who := must(r.Join(r.ctx, token, "Stan Stranger", "long enough 3"))(r.t)
	if err := r.adviser.SetRole(r.ctx, lone.ID, r.adviser.who.AccountID, ""); err != nil {
		r.t.Fatal(err)
	}
	return r.Desk(who)
}

// things makes what the calls are about, measured.
func (r *rig) things() *asked {
	a := &asked{ctx: r.ctx, r: r, load: r.load(Settings{})}
	a.photo = r.upload(a.load.ID, "first", "photo")
	stop := r.measuring(&fake{version: "1"})
	r.settle()
	stop()
	a.other = r.joined("Omar Other", Crew).who.AccountID
	return a
}

// renew makes what calls use up.
func (a *asked) renew() {
	t, r := a.r.t, a.r
	if _, err := r.engine.write.ExecContext(a.ctx, "DELETE FROM photo WHERE id <> $1", a.photo.ID); err != nil {
		t.Fatal(err)
	}
	if _, err := r.engine.write.ExecContext(a.ctx, "DELETE FROM attempt"); err != nil {
		t.Fatal(err)
	}
	a.throwLoad = r.load(Settings{})
	a.throwPhoto = r.upload(a.throwLoad.ID, "", "photo")
	a.typed = must(r.adviser.AddTyped(a.ctx, a.load.ID, TypedCup, map[string]string{"whole": "1"}))(t)
	_, link, err := r.adviser.AddCrewLink(a.ctx, r.harvest.ID, "throw away", time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	a.throwLink = link
	a.throwHarvest = must(r.adviser.AddHarvest(a.ctx, Harvest{FarmID: r.farm.ID, Name: "Throw away"}))(t)
}
