package web

import (
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"gristmark/internal/advice"
	"gristmark/internal/harvest"
)

// pageLoads is how many loads a page lists.
const pageLoads = 50

type chartView struct {
	Title, Say string
	Wide, Slim template.HTML
}

type alertView struct{ Head, Text string }

type loadRow struct {
	ID                 int64
	Name, When, Photos string
	Field, Hybrid      string
	Set                []string
	Passing, Length    *cell
	May                bool // be compared
}

type harvestBody struct {
	ID                    int64
	Name                  string
	Facts                 []string
	MayAdd, Adviser       bool
	Alerts                []alertView
	Charts                []chartView
	Rules                 []string
	Filtered              bool
	Fields, Hybrids       []option
	Processes             []option
	From, To, Text, Query string
	Loads                 []loadRow
	More                  string
}

// filter reads the filter of the address.
func filter(q url.Values) (f harvest.Filter, on bool) {
	f = harvest.Filter{Field: q.Get("field"), Hybrid: q.Get("hybrid"), Process: q.Get("process"), Text: q.Get("text"), From: day(q.Get("from"))}
	if to := day(q.Get("to")); !to.IsZero() {
		f.To = to.AddDate(0, 0, 1) // the whole of that day
	}
	on = f.Field != "" || f.Hybrid != "" || f.Process != "" || f.Text != "" || !f.From.IsZero() || !f.To.IsZero()
	return f, on
}

// filterQuery is the filter as it is handed on to the exports.
func filterQuery(q url.Values) string {
	out := url.Values{}
	for _, name := range []string{"field", "hybrid", "process", "text", "from", "to"} {
		if v := q.Get(name); v != "" {
			out.Set(name, v)
		}
	}
	if len(out) == 0 {
		return ""
	}
	return "?" + out.Encode()
}

func harvestPage(c *call) error {
	h, err := c.harvest()
	if err != nil {
		return err
	}
	role, err := c.role(h.FarmID)
	if err != nil {
		return err
	}
	q := c.r.URL.Query()
	f, on := filter(q)
	f.WithPhotos = true
	loads, err := c.desk().Loads(c.ctx(), h.ID, f)
	if err != nil {
		return err
	}
	all := loads
	if on {
		if all, err = c.desk().Loads(c.ctx(), h.ID, harvest.Filter{}); err != nil {
			return err
		}
	}
	set := targets(h)
	b := harvestBody{ID: h.ID, Name: h.Name, MayAdd: role != harvest.Reader, Adviser: role == harvest.Adviser, Filtered: on, Query: filterQuery(q),
		From: q.Get("from"), To: q.Get("to"), Text: q.Get("text")}
	b.Facts = []string{h.Crop, c.in.words.Say(set.Title), c.count(h.Loads, "1 load", "%d loads"), c.count(h.Photos, "1 photo", "%d photos")}
	c.choices(&b, all, f)
	if err := c.charts(&b, loads, set); err != nil {
		return err
	}
	c.rows(&b, loads, q)
	return c.show(http.StatusOK, "harvest", page{Title: h.Name, Body: b, Kind: "log", Crumbs: c.harvestCrumbs(h)})
}

// harvestCrumbs leads back to the harvests, for who has more than one to go back to.
func (c *call) harvestCrumbs(h harvest.Harvest) []crumb {
	if c.who.HarvestID != 0 {
		return nil
	}
	return []crumb{{c.t("Harvests"), "/"}, {h.Name, ""}}
}

func (c *call) choices(b *harvestBody, all []harvest.Load, f harvest.Filter) {
	var fields, hybrids []string
	for _, l := range all {
		fields, hybrids = with(fields, l.Settings.Field), with(hybrids, l.Settings.Hybrid)
	}
	b.Fields, b.Hybrids = options(fields, f.Field), options(hybrids, f.Hybrid)
	b.Processes = chosen(f.Process, c.processes()[1:]...)
}

func options(list []string, value string) []option {
	slices.Sort(list)
	var out []option
	for _, s := range list {
		out = append(out, option{Value: s, Text: s, Chosen: s == value})
	}
	return out
}

// rows lists the loads, newest first, a page of them.
func (c *call) rows(b *harvestBody, loads []harvest.Load, q url.Values) {
	skip, _ := strconv.Atoi(q.Get("skip"))
	list := slices.Clone(loads)
	slices.Reverse(list)
	list = list[min(max(skip, 0), len(list)):]
	if len(list) > pageLoads {
		list = list[:pageLoads]
		q.Set("skip", strconv.Itoa(max(skip, 0)+pageLoads))
		b.More = "?" + q.Encode()
	}
	for _, l := range list {
		b.Loads = append(b.Loads, c.loadRow(l))
	}
}

func (c *call) loadRow(l harvest.Load) loadRow {
	r := loadRow{ID: l.ID, Name: l.Name, When: c.when(l.At), Field: l.Settings.Field, Hybrid: l.Settings.Hybrid, Set: c.set(l.Settings)}
	refused, left := 0, 0
	for _, p := range l.Photos {
		switch p.State {
		case harvest.Refused:
			refused++
		case harvest.Waiting, harvest.Measuring:
			left++
		}
	}
	r.Photos = c.count(len(l.Photos), "1 photo", "%d photos")
	if left > 0 {
		r.Photos += ", " + c.t("%d being measured", left)
	}
	if refused > 0 {
		r.Photos += ", " + c.t("%d refused", refused)
	}
	if l.Document != nil && l.Document.Sample != nil {
		r.Passing, r.Length, r.May = c.passingCell(l.Document.Sample), c.lengthCell(l.Document.Sample), true
	}
	return r
}

// changed names what the machine was set to differently from the load before.
func (c *call) changed(before, now harvest.Settings) string {
	var out string
	add := func(s string) {
		if out != "" {
			out += ", "
		}
		out += s
	}
	for _, f := range []struct {
		a, b *float64
		text string
	}{{before.RollGapMM, now.RollGapMM, "gap %s → %s"}, {before.TLOCMM, now.TLOCMM, "TLOC %s → %s"}} {
		if f.a != nil && f.b != nil && *f.a != *f.b {
			add(c.t(f.text, c.in.words.Trimmed(*f.a, 2), c.in.words.Trimmed(*f.b, 2)))
		}
	}
	if before.Process != now.Process && now.Process != "" && before.Process != "" {
		add(now.Process)
	}
	return out
}

// targetLength is the band of the mean length that holds for all loads; none where their lengths of cut differ.
func targetLength(loads []harvest.Load, set advice.TargetSet) (low, high *float64) {
	var cut *float64
	for _, l := range loads {
		v := l.Settings.TLOCMM
		if v == nil || (cut != nil && *cut != *v) {
			return nil, nil
		}
		cut = v
	}
	return lengthTarget(set, cut)
}

func loadHref(id int64) string { return fmt.Sprintf("/loads/%d", id) }
