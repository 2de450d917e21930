package door

import (
	"context"
	"errors"
	"net/http"
	"strings"

	"gristmark/internal/harvest"
)

type contextKey int

const (
	whoKey contextKey = iota
	noteKey
)

// Who tells who asks; false: nobody that the log knows.
func Who(r *http.Request) (harvest.Who, bool) {
	w, ok := r.Context().Value(whoKey).(harvest.Who)
	return w, ok
}

// As returns the request as asked by w: for tests of handlers.
func As(r *http.Request, w harvest.Who) *http.Request {
	return r.WithContext(context.WithValue(r.Context(), whoKey, w))
}

// identify finds out who asks, by the token of an Authorization header under /api/ and /metrics, else by the cookie. A header that says
// nothing valid is not made up for by a cookie.
func (d *Door) identify(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !private(r.URL.Path) {
			next.ServeHTTP(w, r)
			return
		}
		who, known, err := d.ask(r)
		if err != nil {
			if r.Context().Err() == nil {
				d.opt.Logger.Error("who asks is not to be found out", "error", err)
			}
			Refuse(w, r, http.StatusServiceUnavailable, "The log's database does not answer. Nothing is lost; try again in a minute.")
			return
		}
		if known {
			noteOf(r).who = who
			r = As(r, who)
		}
		next.ServeHTTP(w, r)
	})
}

func (d *Door) ask(r *http.Request) (who harvest.Who, known bool, err error) {
	if header := r.Header.Get("Authorization"); header != "" && takesToken(r.URL.Path) {
		scheme, token, _ := strings.Cut(header, " ")
		if !strings.EqualFold(scheme, "Bearer") || token == "" {
			return who, false, nil
		}
		who, err = d.opt.Keys.APIToken(r.Context(), strings.TrimSpace(token))
		return answer(who, err)
	}
	cookie, err := r.Cookie(d.cookieName())
	if err != nil || cookie.Value == "" {
		return who, false, nil
	}
	who, err = d.opt.Keys.Session(r.Context(), cookie.Value)
	return answer(who, err)
}

// answer tells a key that opens nothing from a database that does not answer.
func answer(who harvest.Who, err error) (harvest.Who, bool, error) {
	switch {
	case err == nil:
		return who, true, nil
	case errors.Is(err, harvest.ErrLink), errors.Is(err, harvest.ErrNone), errors.Is(err, harvest.ErrSignIn), errors.Is(err, harvest.ErrRight):
		return harvest.Who{}, false, nil
	}
	return harvest.Who{}, false, err
}

// cookieName binds the cookie to this host under TLS (RFC 6265bis, section 4.1.3.2).
func (d *Door) cookieName() string {
	if d.opt.Secure {
		return "__Host-gristmark"
	}
	return "gristmark"
}

func (d *Door) cookie(value string, maxAge int) *http.Cookie {
	return &http.Cookie{
		Name: d.cookieName(), Value: value, Path: "/", MaxAge: maxAge,
		HttpOnly: true, Secure: d.opt.Secure, SameSite: http.SameSiteLaxMode,
	}
}

// SignIn starts a session and sets its cookie. The session that the request came with, if any, ends.
func (d *Door) SignIn(w http.ResponseWriter, r *http.Request, who harvest.Who) error {
	token, err := d.opt.Keys.StartSession(r.Context(), who, d.opt.Life)
	if err != nil {
		return err
	}
	if old, err := r.Cookie(d.cookieName()); err == nil && old.Value != "" {
		_ = d.opt.Keys.EndSession(r.Context(), old.Value) // it may have ended long ago
	}
	http.SetCookie(w, d.cookie(token, int(d.opt.Life.Seconds())))
	return nil
}

// SignOut ends the session and takes the cookie away.
func (d *Door) SignOut(w http.ResponseWriter, r *http.Request) error {
	http.SetCookie(w, d.cookie("", -1))
	w.Header().Set("Clear-Site-Data", `"cache"`)
	cookie, err := r.Cookie(d.cookieName())
	if err != nil || cookie.Value == "" {
		return nil
	}
	_, _, err = answer(harvest.Who{}, d.opt.Keys.EndSession(r.Context(), cookie.Value))
	return err
}

// afterWho is what is checked once it is known who asks.
func (d *Door) afterWho(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if d.limitWho(w, r) {
			next.ServeHTTP(w, r)
		}
	})
}
