package web

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"gristmark/internal/harvest"
)

type signInBody struct{ Name, Next string }

func signInForm(c *call) error {
	if c.who != nil {
		return c.see("/", "")
	}
	return c.show(http.StatusOK, "signin", page{Title: c.t("Sign in"), Body: signInBody{Next: c.r.FormValue("next")}})
}

func signIn(c *call) error {
	name := c.r.PostFormValue("name")
	who, err := c.opt.Log.SignIn(c.ctx(), name, c.r.PostFormValue("password"))
	if err != nil {
		status, text := c.answer(err)
		return c.show(status, "signin", page{Title: c.t("Sign in"), Fault: text, Body: signInBody{Name: name, Next: c.r.PostFormValue("next")}})
	}
	if err := c.opt.SignIn(c.w, c.r, who); err != nil {
		return err
	}
	return c.see(ownPath(c.r.PostFormValue("next")), "")
}

// ownPath lets a form lead only to a page of this server.
func ownPath(next string) string {
	if !strings.HasPrefix(next, "/") || strings.HasPrefix(next, "//") || strings.ContainsAny(next, "\\\r\n") {
		return "/"
	}
	return next
}

func signOut(c *call) error {
	if err := c.opt.SignOut(c.w, c.r); err != nil {
		return err
	}
	c.w.Header().Set("Clear-Site-Data", `"cache"`)
	return c.see("/sign-in", "")
}

func joinForm(c *call) error {
	open, err := c.opt.Log.InvitationOpen(c.ctx(), c.r.PathValue("token"))
	if err != nil {
		return err
	}
	if !open {
		return harvest.ErrLink
	}
	return c.show(http.StatusOK, "join", page{Title: c.t("Make your account"), Body: signInBody{}})
}

func join(c *call) error {
	name := c.r.PostFormValue("name")
	who, err := c.opt.Log.Join(c.ctx(), c.r.PathValue("token"), name, c.r.PostFormValue("password"))
	if err != nil {
		status, text := c.answer(err)
		return c.show(status, "join", page{Title: c.t("Make your account"), Fault: text, Body: signInBody{Name: name}})
	}
	if err := c.opt.SignIn(c.w, c.r, who); err != nil {
		return err
	}
	return c.see("/", "")
}

func crewForm(c *call) error {
	if _, err := c.opt.Log.CrewLink(c.ctx(), c.r.PathValue("token")); err != nil {
		return err
	}
	return c.show(http.StatusOK, "crew", page{Title: c.t("Photos for the harvest")})
}

func crew(c *call) error {
	who, err := c.opt.Log.CrewLink(c.ctx(), c.r.PathValue("token"))
	if err != nil {
		return err
	}
	if err := c.opt.SignIn(c.w, c.r, who); err != nil {
		return err
	}
	return c.see(fmt.Sprintf("/harvests/%d", who.HarvestID), "")
}

func waiting(c *call) error {
	return c.show(http.StatusOK, "waiting", page{Title: c.t("Waiting on this phone")})
}

// tokenRow is a token or link in a list.
type tokenRow struct {
	ID    int64
	Label string
	Until string
	Open  bool
}

type accountBody struct {
	Token  string
	Tokens []tokenRow
}

func accountPage(c *call) error { return c.account(http.StatusOK, "", "") }

func (c *call) account(status int, token, fault string) error {
	list, err := c.desk().Tokens(c.ctx())
	if err != nil {
		return err
	}
	b := accountBody{Token: token}
	for _, t := range list {
		b.Tokens = append(b.Tokens, tokenRow{ID: t.ID, Label: t.Label, Until: c.until(t.ExpiresAt)})
	}
	return c.show(status, "account", page{Title: c.t("Account"), Body: b, Fault: fault})
}

func (c *call) until(at time.Time) string {
	if at.IsZero() {
		return c.t("without an end")
	}
	if at.Before(time.Now()) {
		return c.t("ended on %s", c.when(at))
	}
	return c.t("until %s", c.when(at))
}

// days reads the life of a token or link.
func days(text string, most int) (time.Duration, error) {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < 1 || n > most {
		return 0, formError{fmt.Sprintf("%s is no number of days; write one from 1 to %d", text, most)}
	}
	return time.Duration(n) * 24 * time.Hour, nil
}

func addToken(c *call) error {
	life, err := days(c.r.PostFormValue("days"), 3650)
	if err == nil {
		var token string
		if token, _, err = c.desk().AddToken(c.ctx(), c.r.PostFormValue("label"), life); err == nil {
			return c.account(http.StatusOK, token, "")
		}
	}
	return c.again(err, c.account)
}

// again shows a page once more with what was wrong in its form; other faults are told by themselves.
func (c *call) again(err error, show func(status int, token, fault string) error) error {
	if !errors.Is(err, harvest.ErrInput) && !errors.Is(err, errForm) && !errors.Is(err, harvest.ErrSignIn) {
		return err
	}
	status, text := c.answer(err)
	return show(status, "", text)
}

func dropToken(c *call) error {
	id, err := c.id("token")
	if err == nil {
		err = c.desk().DropToken(c.ctx(), id)
	}
	if err != nil {
		return err
	}
	return c.see("/account", "removed")
}

func changePassword(c *call) error {
	if err := c.desk().ChangePassword(c.ctx(), c.r.PostFormValue("old"), c.r.PostFormValue("new")); err != nil {
		return c.again(err, c.account)
	}
	return c.see("/account", "password")
}
