package web

import (
	"crypto/rand"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"gristmark/internal/advice"
	"gristmark/internal/harvest"
)

// loadFields is the form of what is known of a load.
type loadFields struct {
	Name              string
	S                 harvest.Settings
	Shows             []option
	Processes, States []option
	Fields, Hybrids   []string
	Open              bool // the rarely used part
}

// fields makes the form; seen are loads of the harvest, for what was typed before.
func (c *call) fields(name string, s harvest.Settings, seen []harvest.Load) loadFields {
	f := loadFields{Name: name, S: s, Open: s.Scale != "" || s.Kernel != "" || s.Note != ""}
	show := s.Show
	if show == "" {
		show = "mixed"
	}
	f.Shows = chosen(show,
		option{Value: "mixed", Text: c.t("Chop as it is"), More: c.t("kernels and stalk together")},
		option{Value: "kernels", Text: c.t("Kernels, washed out"), More: c.t("from the water test")},
		option{Value: "pieces", Text: c.t("Stalk and leaf"), More: c.t("screened or loose, for length")})
	f.Processes = chosen(s.Process, c.processes()...)
	f.States = chosen(s.State, option{Value: "", Text: c.t("fresh (taken when nothing is told)")}, option{Value: advice.Fresh, Text: c.t("fresh")}, option{Value: advice.Fermented, Text: c.t("fermented")})
	for _, l := range seen {
		f.Fields, f.Hybrids = with(f.Fields, l.Settings.Field), with(f.Hybrids, l.Settings.Hybrid)
	}
	return f
}

func (c *call) processes() []option {
	return []option{{Value: "", Text: c.t("as the targets say")}, {Value: "conventional", Text: c.t("conventional rolls")}, {Value: "shredding", Text: c.t("shredding rolls")}, {Value: "unprocessed", Text: c.t("none")}}
}

func chosen(value string, list ...option) []option {
	for i := range list {
		list[i].Chosen = list[i].Value == value
	}
	return list
}

// with adds a word once.
func with(list []string, s string) []string {
	if s == "" || slices.Contains(list, s) {
		return list
	}
	return append(list, s)
}

// typedLoad reads name and settings from the form of values into a load.
func (c *call) typedLoad(l harvest.Load, get func(string) string) (harvest.Load, error) {
	l.Name = get("name")
	s := harvest.Settings{Field: get("field"), Hybrid: get("hybrid"), Process: get("process"), State: get("state"), Show: get("show"), Scale: get("scale"), Kernel: get("kernel"), Note: get("note")}
	for _, n := range []struct {
		to         **float64
		name, word string
		low, high  float64
	}{{&s.DMPct, "dm", c.t("Dry matter, %"), 5, 95}, {&s.TLOCMM, "tloc", c.t("Length of cut (TLOC), mm"), 2, 60}, {&s.RollGapMM, "gap", c.t("Roll gap, mm"), 0, 20}} {
		v, err := typedNumber(n.word, get(n.name))
		if err != nil {
			return withSettings(l, s), err
		}
		if v != nil && (*v < n.low || *v > n.high) {
			return withSettings(l, s), formError{fmt.Sprintf("%s: %s is out of what there is, %v to %v", n.word, get(n.name), n.low, n.high)}
		}
		*n.to = v
	}
	return withSettings(l, s), nil
}

func withSettings(l harvest.Load, s harvest.Settings) harvest.Load {
	l.Settings = s
	return l
}

type newLoadBody struct {
	HarvestID int64
	Key       string
	Form      loadFields
}

// newKey is an idempotency key for a form.
func newKey() string { return rand.Text() }

func newLoad(c *call) error {
	h, err := c.harvest()
	if err != nil {
		return err
	}
	if err := c.must(h, harvest.Crew); err != nil {
		return err
	}
	s, err := c.desk().LastSettings(c.ctx(), h.ID)
	if err != nil {
		return err
	}
	return c.newLoadForm(http.StatusOK, h, c.t("Load %d", h.Loads+1), s, "")
}

func (c *call) newLoadForm(status int, h harvest.Harvest, name string, s harvest.Settings, fault string) error {
	seen, err := c.desk().Loads(c.ctx(), h.ID, harvest.Filter{Limit: 60, Newest: true})
	if err != nil {
		return err
	}
	return c.show(status, "load-new", page{Title: c.t("New load"), Fault: fault, Body: newLoadBody{h.ID, newKey(), c.fields(name, s, seen)},
		Crumbs: []crumb{{c.t("Harvests"), "/"}, {h.Name, fmt.Sprintf("/harvests/%d", h.ID)}, {c.t("New load"), ""}}})
}

// load reads the load of the path with its harvest and targets.
func (c *call) load() (l harvest.Load, h harvest.Harvest, set advice.TargetSet, err error) {
	id, err := c.id("load")
	if err != nil {
		return
	}
	if l, err = c.desk().Load(c.ctx(), id); err != nil {
		return
	}
	if h, err = c.desk().Harvest(c.ctx(), l.HarvestID); err != nil {
		return
	}
	return l, h, targets(h), nil
}

// targets are those of the harvest, the built-in default where there is no such set.
func targets(h harvest.Harvest) advice.TargetSet {
	set, err := advice.Targets().Find(h.Targets)
	if err != nil {
		return advice.DefaultSet()
	}
	return set
}

// typedValues are what was typed into a form that is shown again.
type typedValues struct {
	sieve, cup           map[string]string
	sieveFault, cupFault string
}

type loadBody struct {
	ID          int64
	Name, Key   string
	Facts       []string
	Live        liveView
	MayAdd      bool
	Typed       []typedView
	SieveOpen   bool
	SieveFault  string
	SieveValues map[string]string
	CupOpen     bool
	CupFault    string
	CupValues   map[string]string
}

func loadPage(c *call) error { return c.loadWith(http.StatusOK, typedValues{}) }

func (c *call) loadWith(status int, typed typedValues) error {
	l, h, set, err := c.load()
	if err != nil {
		return err
	}
	role, err := c.role(h.FarmID)
	if err != nil {
		return err
	}
	b := loadBody{ID: l.ID, Name: l.Name, Key: newKey(), Facts: c.facts(l), MayAdd: role != harvest.Reader, Typed: c.typedViews(l, set, role != harvest.Reader),
		SieveFault: typed.sieveFault, SieveOpen: typed.sieveFault != "", SieveValues: typed.sieve, CupFault: typed.cupFault, CupOpen: typed.cupFault != "", CupValues: typed.cup}
	if b.CupValues == nil {
		b.CupValues = map[string]string{"litres": "0.946", "cups": "1"}
	}
	b.Live = c.live(l, set, role == harvest.Adviser)
	return c.show(status, "load", page{Title: l.Name, Body: b, Refresh: b.Live.Busy,
		Crumbs: []crumb{{c.t("Harvests"), "/"}, {h.Name, fmt.Sprintf("/harvests/%d", h.ID)}, {l.Name, ""}}})
}

// facts are what is known of a load, in a few words each.
func (c *call) facts(l harvest.Load) []string {
	out := []string{c.when(l.At)}
	s := l.Settings
	for _, f := range []string{s.Field, s.Hybrid} {
		if f != "" {
			out = append(out, f)
		}
	}
	out = append(out, c.set(s)...)
	if s.State == advice.Fermented {
		out = append(out, c.t("fermented"))
	}
	if s.Note != "" {
		out = append(out, s.Note)
	}
	return out
}

// set is how the machine was set and how dry the crop was.
func (c *call) set(s harvest.Settings) []string {
	var out []string
	for _, f := range []struct {
		v    *float64
		text string
	}{{s.DMPct, "DM %s %%"}, {s.TLOCMM, "TLOC %s mm"}, {s.RollGapMM, "gap %s mm"}} {
		if f.v != nil {
			out = append(out, c.t(f.text, c.in.words.Trimmed(*f.v, 2)))
		}
	}
	return out
}

func loadLive(c *call) error {
	l, h, set, err := c.load()
	if err != nil {
		return err
	}
	role, err := c.role(h.FarmID)
	if err != nil {
		return err
	}
	v := c.live(l, set, role == harvest.Adviser)
	c.w.Header().Set("Busy", strconv.FormatBool(v.Busy))
	return c.part("load", "live", v)
}

type loadEditBody struct {
	ID, Version int64
	Form        loadFields
	MayDrop     bool
}

func editLoad(c *call) error {
	l, h, _, err := c.load()
	if err != nil {
		return err
	}
	return c.loadForm(http.StatusOK, h, l, "")
}

func (c *call) loadForm(status int, h harvest.Harvest, l harvest.Load, fault string) error {
	role, err := c.role(h.FarmID)
	if err != nil {
		return err
	}
	if role == harvest.Reader {
		return harvest.ErrRight
	}
	seen, err := c.desk().Loads(c.ctx(), h.ID, harvest.Filter{Limit: 60, Newest: true})
	if err != nil {
		return err
	}
	return c.show(status, "load-edit", page{Title: c.t("Change the load"), Fault: fault,
		Body:   loadEditBody{l.ID, l.Version, c.fields(l.Name, l.Settings, seen), role == harvest.Adviser},
		Crumbs: []crumb{{h.Name, fmt.Sprintf("/harvests/%d", h.ID)}, {l.Name, fmt.Sprintf("/loads/%d", l.ID)}, {c.t("Change"), ""}}})
}

func changeLoad(c *call) error {
	l, h, _, err := c.load()
	if err != nil {
		return err
	}
	if err := c.must(h, harvest.Crew); err != nil {
		return err
	}
	version, err := strconv.ParseInt(c.r.PostFormValue("version"), 10, 64)
	if err != nil {
		return harvest.ErrStale
	}
	now, old := l.Version, l.Settings
	l, err = c.typedLoad(l, c.r.PostFormValue)
	if err == nil {
		l.Version = version
		_, err = c.desk().ChangeLoad(c.ctx(), l)
	}
	if err != nil {
		if errors.Is(err, harvest.ErrStale) {
			l.Version = now // what stands in the form is shown again, to be saved over the newer one on purpose
			return c.loadForm(http.StatusConflict, h, l, c.t("Somebody changed this load meanwhile. Look through the form and save it again."))
		}
		return c.again(err, func(status int, _, fault string) error { return c.loadForm(status, h, l, fault) })
	}
	if s := l.Settings; s.Show != old.Show || s.Scale != old.Scale || s.Kernel != old.Kernel {
		if _, err := c.desk().RemeasureLoad(c.ctx(), l.ID); err != nil {
			return err
		}
	}
	return c.see(fmt.Sprintf("/loads/%d", l.ID), "saved")
}

func dropLoad(c *call) error {
	l, _, _, err := c.load()
	if err != nil {
		return err
	}
	if err := c.desk().DropLoad(c.ctx(), l.ID); err != nil {
		return err
	}
	return c.see(fmt.Sprintf("/harvests/%d", l.HarvestID), "removed")
}

// remeasureLoad has the photos of a load measured again, as after a fault of the machine.
func remeasureLoad(c *call) error {
	id, err := c.id("load")
	if err == nil {
		_, err = c.desk().RemeasureLoad(c.ctx(), id)
	}
	if err != nil {
		return err
	}
	return c.see(loadHref(id), "again")
}
