package web

import (
	"encoding/json"
	"fmt"
	"html/template"
	"maps"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strconv"
	"strings"
	"time"

	"gristmark/internal/harvest"
	"gristmark/internal/web/door"
)

// inviteLife is how long an invitation can be used.
const inviteLife = 7 * 24 * time.Hour

type homeFarm struct {
	harvest.Farm
	Harvests []harvest.Harvest
	MayAdd   bool
}

type homeBody struct{ Farms []homeFarm }

func home(c *call) error {
	if c.who.HarvestID != 0 {
		return c.see(fmt.Sprintf("/harvests/%d", c.who.HarvestID), "")
	}
	farms, err := c.desk().Farms(c.ctx())
	if err != nil {
		return err
	}
	all, err := c.desk().Harvests(c.ctx(), 0)
	if err != nil {
		return err
	}
	var b homeBody
	for _, f := range farms {
		row := homeFarm{Farm: f, MayAdd: f.Role == harvest.Adviser}
		for _, h := range all {
			if h.FarmID == f.ID {
				row.Harvests = append(row.Harvests, h)
			}
		}
		b.Farms = append(b.Farms, row)
	}
	return c.show(http.StatusOK, "home", page{Title: c.t("Harvests"), Body: b})
}

func addFarm(c *call) error {
	if _, err := c.desk().AddFarm(c.ctx(), c.r.PostFormValue("name")); err != nil {
		return err
	}
	return c.see("/", "added")
}

// farm finds one of the farms of who asks.
func (c *call) farm(id int64) (harvest.Farm, error) {
	farms, err := c.desk().Farms(c.ctx())
	if err != nil {
		return harvest.Farm{}, err
	}
	for _, f := range farms {
		if f.ID == id {
			return f, nil
		}
	}
	return harvest.Farm{}, harvest.ErrNone
}

type option struct {
	Value, Text, More string
	Chosen            bool
}

type memberRow struct {
	ID    int64
	Name  string
	Word  string
	Roles []option
}

type changeRow struct{ At, By, What, Object, Detail string }

type farmBody struct {
	Farm    harvest.Farm
	May     bool
	Members []memberRow
	Roles   []option
	Changes []changeRow
	Before  int64
	Token   string
	QR      template.HTML
}

func (c *call) roles(now harvest.Role, remove bool) []option {
	list := []option{
		{Value: string(harvest.Adviser), Text: c.t("adviser")}, {Value: string(harvest.Crew), Text: c.t("crew")}, {Value: string(harvest.Reader), Text: c.t("reader")},
	}
	if remove {
		list = append(list, option{Value: "", Text: c.t("nothing any more")})
	}
	for i := range list {
		list[i].Chosen = list[i].Value == string(now)
	}
	return list
}

func farmPage(c *call) error { return c.farmWith(http.StatusOK, "", "") }

func (c *call) farmWith(status int, token, fault string) error {
	id, err := c.id("farm")
	if err != nil {
		return err
	}
	f, err := c.farm(id)
	if err != nil {
		return err
	}
	b := farmBody{Farm: f, May: f.Role == harvest.Adviser && c.who.AccountID != 0, Roles: c.roles(harvest.Crew, false)}
	if token != "" {
		b.Token = c.address("/join/" + token)
		if b.QR, err = qrCode(b.Token); err != nil {
			return err
		}
	}
	members, err := c.desk().Members(c.ctx(), id)
	if err != nil {
		return err
	}
	for _, m := range members {
		b.Members = append(b.Members, memberRow{ID: m.AccountID, Name: m.Name, Word: c.t(string(m.Role)), Roles: c.roles(m.Role, true)})
	}
	if b.May {
		if err := c.changes(&b); err != nil {
			return err
		}
	}
	return c.show(status, "farm", page{Title: f.Name, Body: b, Fault: fault, Crumbs: []crumb{{c.t("Harvests"), "/"}, {f.Name, ""}}})
}

func (c *call) changes(b *farmBody) error {
	const rows = 50
	before, _ := strconv.ParseInt(c.r.URL.Query().Get("before"), 10, 64)
	list, err := c.desk().Changes(c.ctx(), b.Farm.ID, before, rows)
	if err != nil {
		return err
	}
	for _, e := range list {
		b.Changes = append(b.Changes, changeRow{At: c.when(e.At), By: e.By, What: e.What, Object: e.Object, Detail: detail(e.Detail)})
	}
	if len(list) == rows {
		b.Before = list[rows-1].ID
	}
	return nil
}

// detail prints what a change changed, "name Load 3, tloc_mm 19", from the JSON of the log.
func detail(text string) string {
	var v any
	if json.Unmarshal([]byte(text), &v) != nil {
		return text
	}
	var out []string
	var walk func(name string, v any)
	walk = func(name string, v any) {
		m, nested := v.(map[string]any)
		if !nested {
			if s := fmt.Sprint(v); s != "" && v != nil && name != "sha256" {
				out = append(out, strings.TrimSpace(name+" "+s))
			}
			return
		}
		for _, key := range slices.Sorted(maps.Keys(m)) {
			walk(key, m[key])
		}
	}
	walk("", v)
	return strings.Join(out, ", ")
}

func invite(c *call) error {
	id, err := c.id("farm")
	if err != nil {
		return err
	}
	token, err := c.desk().Invite(c.ctx(), id, harvest.Role(c.r.PostFormValue("role")), inviteLife)
	if err != nil {
		return c.again(err, c.farmWith)
	}
	return c.farmWith(http.StatusOK, token, "")
}

func setRole(c *call) error {
	farm, err := c.id("farm")
	if err != nil {
		return err
	}
	account, err := c.id("account")
	if err != nil {
		return err
	}
	if err := c.desk().SetRole(c.ctx(), farm, account, harvest.Role(c.r.PostFormValue("role"))); err != nil {
		return c.again(err, c.farmWith)
	}
	return c.see(fmt.Sprintf("/farms/%d", farm), "saved")
}

// address is a page of this server as a phone reaches it: by the name that the browser used, or where that is one that only this
// machine knows, by the machine's address on its network.
func (c *call) address(path string) string {
	scheme := "http"
	if c.r.TLS != nil || c.r.Header.Get("X-Forwarded-Proto") == "https" {
		scheme = "https"
	}
	return scheme + "://" + reachable(c.r.Host, door.Addresses()) + path
}

// reachable puts the first of the machine's addresses in place of a host that is the machine itself; the port stays.
func reachable(host string, addresses []netip.Addr) string {
	name, port, err := net.SplitHostPort(host)
	if err != nil {
		name, port = host, ""
	}
	ip, err := netip.ParseAddr(name)
	here := name == "localhost" || (err == nil && ip.IsLoopback())
	switch {
	case !here || len(addresses) == 0:
		return host
	case port != "":
		return netip.AddrPortFrom(addresses[0], portNumber(port)).String()
	case addresses[0].Is6():
		return "[" + addresses[0].String() + "]"
	}
	return addresses[0].String()
}

func portNumber(port string) uint16 {
	n, _ := strconv.ParseUint(port, 10, 16) // of an address that a request came by
	return uint16(n)
}
