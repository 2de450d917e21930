package web

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"gristmark/internal/harvest"
)

// handler answers a call; what it returns is told to the person.
type handler func(*call) error

// call is one request with what is known of who asks.
type call struct {
	*server
	w   http.ResponseWriter
	r   *http.Request
	who *harvest.Who // nil: nobody has signed in
	in  *tongue
}

func (c *call) ctx() context.Context { return c.r.Context() }
func (c *call) desk() *harvest.Desk  { return c.opt.Log.Desk(*c.who) }

// t is a text of the page in the language of who asks.
func (c *call) t(english string, args ...any) string { return c.in.words.T(english, args...) }

// id reads a number from the path; what is none is as good as not there.
func (c *call) id(name string) (int64, error) {
	n, err := strconv.ParseInt(c.r.PathValue(name), 10, 64)
	if err != nil || n < 1 {
		return 0, harvest.ErrNone
	}
	return n, nil
}

// wantsJSON tells a script from a person.
func (c *call) wantsJSON() bool {
	return strings.Contains(c.r.Header.Get("Accept"), "application/json")
}

func (c *call) json(status int, v any) error {
	c.w.Header().Set("Content-Type", "application/json; charset=utf-8")
	c.w.WriteHeader(status)
	return json.NewEncoder(c.w).Encode(v)
}

// see answers a form that was taken: the page to go on with, and what is said there.
func (c *call) see(path, said string) error {
	if said != "" {
		sep := "?"
		if strings.Contains(path, "?") {
			sep = "&"
		}
		path += sep + "said=" + url.QueryEscape(said)
	}
	http.Redirect(c.w, c.r, path, http.StatusSeeOther)
	return nil
}

// page wraps a handler: finds who asks, sets the headers that all pages have, and tells faults.
func (s *server) page(h handler, closed bool) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		c := &call{server: s, w: w, r: r, in: s.tongue(r)}
		if who, ok := s.opt.Who(r); ok {
			c.who = &who
		}
		w.Header().Set("Cache-Control", "private, no-cache")
		w.Header().Set("Vary", "Accept, Accept-Language, Cookie")
		if closed && c.who == nil {
			c.turnAway()
			return
		}
		if err := h(c); err != nil {
			c.fail(err)
		}
	}
}

func (c *call) turnAway() {
	if c.wantsJSON() || c.r.Method != http.MethodGet || strings.HasSuffix(c.r.URL.Path, "/live") || strings.HasSuffix(c.r.URL.Path, "/events") {
		c.tell(http.StatusUnauthorized, c.t("You are signed out: sign in, then do it again."))
		return
	}
	http.Redirect(c.w, c.r, "/sign-in?next="+url.QueryEscape(c.r.URL.RequestURI()), http.StatusSeeOther)
}

// answers are the codes of the log's errors.
var answers = []struct {
	err    error
	status int
}{
	{harvest.ErrNone, http.StatusNotFound}, {harvest.ErrRight, http.StatusForbidden}, {harvest.ErrStale, http.StatusConflict},
	{harvest.ErrLink, http.StatusGone}, {harvest.ErrSignIn, http.StatusUnauthorized}, {harvest.ErrInput, http.StatusUnprocessableEntity},
	{harvest.ErrTooLarge, http.StatusRequestEntityTooLarge}, {harvest.ErrBusy, http.StatusTooManyRequests},
	{harvest.ErrStorage, http.StatusInsufficientStorage}, {harvest.ErrDatabase, http.StatusServiceUnavailable},
	{errForm, http.StatusUnprocessableEntity},
}

// errForm is the kind of faults in what was typed in.
var errForm = errors.New("web: what was entered cannot be taken")

// formError is such a fault, a sentence for the person.
type formError struct{ text string }

func (e formError) Error() string        { return e.text }
func (e formError) Is(target error) bool { return target == errForm }

// answer gives code and sentence of a fault.
func (c *call) answer(err error) (int, string) {
	var long *http.MaxBytesError
	if errors.As(err, &long) {
		return http.StatusRequestEntityTooLarge, c.t("This is more than one form may bring: send fewer photos at once.")
	}
	for _, a := range answers {
		if errors.Is(err, a.err) {
			return a.status, c.sentence(err)
		}
	}
	c.opt.Logger.Error("page", "method", c.r.Method, "path", c.r.URL.Path, "error", err)
	return http.StatusInternalServerError, c.t("The program failed at this; nothing was lost. Try again, and tell the adviser if it stays.")
}

// sentence is an error as a person reads it.
func (c *call) sentence(err error) string {
	text := err.Error()
	if cut := strings.Index(text, ": "); cut > 0 && cut < 12 && !strings.Contains(text[:cut], " ") {
		text = text[cut+2:]
	}
	text = c.in.words.Say(text)
	return strings.TrimSuffix(upper(text), ".") + "."
}

func (c *call) fail(err error) {
	if errors.Is(err, context.Canceled) {
		return // nobody listens any more
	}
	status, text := c.answer(err)
	c.tell(status, text)
}

// tell answers with a sentence, as JSON to a script and as a page to a person.
func (c *call) tell(status int, text string) {
	if c.wantsJSON() {
		_ = c.json(status, map[string]string{"problem": text})
		return
	}
	m := message{Title: c.t("That did not work"), Text: text, Href: "/", Link: c.t("To the harvests")}
	if status == http.StatusNotFound {
		m.Title = c.t("Nothing here")
	}
	if back, err := url.Parse(c.r.Referer()); err == nil && back.Host == c.r.Host && back.Path != "" && back.Path != c.r.URL.Path {
		m.Href, m.Link = back.RequestURI(), c.t("Back")
	}
	if status == http.StatusUnauthorized {
		m.Href, m.Link = "/sign-in", c.t("Sign in")
	}
	_ = c.show(status, "message", page{Title: m.Title, Body: m})
}

type message struct{ Title, Text, Href, Link string }
