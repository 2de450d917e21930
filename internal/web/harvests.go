package web

import (
	"fmt"
	"html/template"
	"net/http"
	"strconv"
	"time"

	"gristmark/internal/advice"
	"gristmark/internal/harvest"
)

type harvestForm struct {
	Action  string
	Harvest harvest.Harvest
	Targets []advice.TargetSet
}

func newHarvest(c *call) error {
	farm, err := strconv.ParseInt(c.r.URL.Query().Get("farm"), 10, 64)
	if err != nil {
		return harvest.ErrNone
	}
	f, err := c.farm(farm)
	if err != nil {
		return err
	}
	h := harvest.Harvest{FarmID: f.ID, Crop: c.t("whole-plant maize"), Targets: advice.DefaultSet().Name}
	return c.harvestForm(http.StatusOK, h, "")
}

func (c *call) harvestForm(status int, h harvest.Harvest, fault string) error {
	p := page{Title: c.t("New harvest"), Fault: fault, Crumbs: []crumb{{c.t("Harvests"), "/"}, {c.t("New harvest"), ""}}}
	b := harvestForm{Action: "/harvests", Harvest: h, Targets: advice.Targets().Sets}
	if h.ID != 0 {
		b.Action = fmt.Sprintf("/harvests/%d/edit", h.ID)
		p.Title = c.t("Change the harvest")
		p.Crumbs = []crumb{{c.t("Harvests"), "/"}, {h.Name, fmt.Sprintf("/harvests/%d", h.ID)}, {c.t("Change"), ""}}
	}
	p.Body = b
	return c.show(status, "harvest-form", p)
}

// typedHarvest reads the form into h.
func (c *call) typedHarvest(h harvest.Harvest) (harvest.Harvest, error) {
	h.Name, h.Crop, h.Targets = c.r.PostFormValue("name"), c.r.PostFormValue("crop"), c.r.PostFormValue("targets")
	if _, err := advice.Targets().Find(h.Targets); err != nil {
		return h, formError{fmt.Sprintf("there are no targets of the name %s", h.Targets)}
	}
	return h, nil
}

func addHarvest(c *call) error {
	farm, err := strconv.ParseInt(c.r.PostFormValue("farm"), 10, 64)
	if err != nil {
		return harvest.ErrNone
	}
	h, err := c.typedHarvest(harvest.Harvest{FarmID: farm})
	made := h
	if err == nil {
		made, err = c.desk().AddHarvest(c.ctx(), h)
	}
	if err != nil {
		return c.again(err, func(status int, _, fault string) error { return c.harvestForm(status, h, fault) })
	}
	return c.see(fmt.Sprintf("/harvests/%d", made.ID), "added")
}

// harvest reads the harvest of the path.
func (c *call) harvest() (harvest.Harvest, error) {
	id, err := c.id("harvest")
	if err != nil {
		return harvest.Harvest{}, err
	}
	return c.desk().Harvest(c.ctx(), id)
}

func editHarvest(c *call) error {
	h, err := c.harvest()
	if err != nil {
		return err
	}
	if err := c.must(h, harvest.Adviser); err != nil {
		return err
	}
	return c.harvestForm(http.StatusOK, h, "")
}

func changeHarvest(c *call) error {
	h, err := c.harvest()
	if err != nil {
		return err
	}
	if err := c.must(h, harvest.Adviser); err != nil {
		return err
	}
	h, err = c.typedHarvest(h)
	if err == nil {
		_, err = c.desk().ChangeHarvest(c.ctx(), h)
	}
	if err != nil {
		return c.again(err, func(status int, _, fault string) error { return c.harvestForm(status, h, fault) })
	}
	return c.see(fmt.Sprintf("/harvests/%d", h.ID), "saved")
}

func dropHarvest(c *call) error {
	id, err := c.id("harvest")
	if err == nil {
		err = c.desk().DropHarvest(c.ctx(), id)
	}
	if err != nil {
		return err
	}
	return c.see("/", "removed")
}

func remeasure(c *call) error {
	id, err := c.id("harvest")
	if err != nil {
		return err
	}
	n, err := c.desk().Remeasure(c.ctx(), id)
	if err != nil {
		return err
	}
	if n == 0 {
		return c.see(fmt.Sprintf("/harvests/%d", id), "nothing")
	}
	return c.see(fmt.Sprintf("/harvests/%d", id), "queued")
}

// role is what who asks may do on a farm; a crew link is crew.
func (c *call) role(farm int64) (harvest.Role, error) {
	if c.who.LinkID != 0 {
		return harvest.Crew, nil
	}
	f, err := c.farm(farm)
	return f.Role, err
}

// rank orders the roles.
var rank = map[harvest.Role]int{harvest.Reader: 1, harvest.Crew: 2, harvest.Adviser: 3}

// must refuses who has not at least that role at a harvest, before anything of a form is looked at. The log checks it once more.
func (c *call) must(h harvest.Harvest, least harvest.Role) error {
	role, err := c.role(h.FarmID)
	if err == nil && rank[role] < rank[least] {
		err = harvest.ErrRight
	}
	return err
}

type linksBody struct {
	HarvestID int64
	Link      string
	QR        template.HTML
	Links     []tokenRow
}

func linksPage(c *call) error { return c.links(http.StatusOK, "", "") }

func (c *call) links(status int, token, fault string) error {
	h, err := c.harvest()
	if err != nil {
		return err
	}
	list, err := c.desk().CrewLinks(c.ctx(), h.ID)
	if err != nil {
		return err
	}
	b := linksBody{HarvestID: h.ID}
	if token != "" {
		b.Link = c.address("/crew/" + token)
		if b.QR, err = qrCode(b.Link); err != nil {
			return err
		}
	}
	for _, l := range list {
		row := tokenRow{ID: l.ID, Label: l.Label, Until: c.until(l.ExpiresAt), Open: l.RevokedAt == nil && l.ExpiresAt.After(time.Now())}
		if l.RevokedAt != nil {
			row.Until = c.t("ended on %s", c.when(*l.RevokedAt))
		}
		b.Links = append(b.Links, row)
	}
	return c.show(status, "links", page{Title: c.t("Crew links"), Body: b, Fault: fault, Crumbs: []crumb{{c.t("Harvests"), "/"}, {h.Name, fmt.Sprintf("/harvests/%d", h.ID)}, {c.t("Crew links"), ""}}})
}

func addLink(c *call) error {
	id, err := c.id("harvest")
	if err != nil {
		return err
	}
	life, err := days(c.r.PostFormValue("days"), 366)
	if err == nil {
		var token string
		if token, _, err = c.desk().AddCrewLink(c.ctx(), id, c.r.PostFormValue("label"), life); err == nil {
			return c.links(http.StatusOK, token, "")
		}
	}
	return c.again(err, c.links)
}

func revokeLink(c *call) error {
	id, err := c.id("harvest")
	if err != nil {
		return err
	}
	link, err := c.id("link")
	if err != nil {
		return err
	}
	if err := c.desk().RevokeCrewLink(c.ctx(), link); err != nil {
		return err
	}
	return c.see(fmt.Sprintf("/harvests/%d/links", id), "ended")
}
