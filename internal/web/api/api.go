// Package api is the harvest log as JSON over HTTP, under /api/v1/, with an OpenAPI 3.1 document at /api/v1/openapi.json. It checks no
// right itself: the log does, at every call. Errors are problem documents (RFC 9457).
package api

import (
	"context"
	"errors"
	"log/slog"
	"net/http"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"gristmark/internal/harvest"
)

// Prefix is where the API lies.
const Prefix = "/api/v1"

// Options of the API.
type Options struct {
	Log           *harvest.Log
	Who           func(*http.Request) (harvest.Who, bool) // who asks; false: nobody that the log knows
	Version       string                                  // of the program
	Exports       http.Handler                            // the pages, whose downloads the API hands on; nil: no downloads
	MaxPhotoBytes int64                                   // of one photo; 0: 64 MiB
	Logger        *slog.Logger                            // of faults; nil: nowhere
}

// server is what the handlers share.
type server struct {
	opt Options
	api huma.API
}

type contextKey struct{}

// New makes the handler of everything under Prefix.
func New(opt Options) (http.Handler, error) {
	if opt.Log == nil || opt.Who == nil {
		return nil, errors.New("api: it needs a log and a function that tells who asks")
	}
	if opt.MaxPhotoBytes == 0 {
		opt.MaxPhotoBytes = 64 << 20
	}
	if opt.Logger == nil {
		opt.Logger = slog.New(slog.DiscardHandler)
	}
	mux := http.NewServeMux()
	s := &server{opt: opt, api: humago.NewWithPrefix(mux, Prefix, config(opt.Version))}
	s.api.UseMiddleware(s.signedIn)
	s.routes()
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		if _, known := opt.Who(r); !known {
			refuse(w, http.StatusUnauthorized, sayUnknown)
			return
		}
		refuse(w, http.StatusNotFound, "There is nothing at this address; "+Prefix+"/openapi.json lists what there is.")
	})
	return methods(mux), nil
}

func config(version string) huma.Config {
	c := huma.DefaultConfig("gristmark harvest log", version)
	c.DocsPath, c.SchemasPath, c.CreateHooks = "", "", nil // no page that loads scripts from elsewhere, no links in bodies
	c.OpenAPIPath = "/openapi"
	c.Info.Description = "Farms, harvests, loads, photos and what was measured in them. Lengths are mm, areas mm², positions px of the upright photo. " +
		"Whoever asks sees the farms of the account alone; what belongs to others answers 404."
	c.Servers = []*huma.Server{{URL: Prefix}}
	c.Components.SecuritySchemes = map[string]*huma.SecurityScheme{
		"token":   {Type: "http", Scheme: "bearer", Description: "A token of an account, made on the account's page or by POST /tokens."},
		"session": {Type: "apiKey", In: "cookie", Name: "gristmark", Description: "The session of a browser that signed in (__Host-gristmark under TLS)."},
	}
	c.Security = []map[string][]string{{"token": {}}, {"session": {}}}
	return c
}

const sayUnknown = "Nobody is signed in. Send a token in the header Authorization: Bearer …, or sign in."

// signedIn lets nobody through whom the log does not know.
func (s *server) signedIn(ctx huma.Context, next func(huma.Context)) {
	r, w := humago.Unwrap(ctx)
	who, known := s.opt.Who(r)
	if !known {
		refuse(w, http.StatusUnauthorized, sayUnknown)
		return
	}
	next(huma.WithValue(ctx, contextKey{}, who))
}

// desk is the log as whoever asks may use it.
func (s *server) desk(ctx context.Context) *harvest.Desk {
	who, _ := ctx.Value(contextKey{}).(harvest.Who) // signedIn put it there
	return s.opt.Log.Desk(who)
}

// methods answers a known address with another method as a problem document too.
func methods(mux *http.ServeMux) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if _, pattern := mux.Handler(r); pattern == "/" {
			var allow []string
			for _, m := range []string{"GET", "POST", "PUT", "PATCH", "DELETE"} {
				other := r.Clone(r.Context())
				other.Method = m
				if _, p := mux.Handler(other); p != "/" && p != "" {
					allow = append(allow, m)
				}
			}
			if len(allow) > 0 {
				for _, m := range allow {
					w.Header().Add("Allow", m)
				}
				refuse(w, http.StatusMethodNotAllowed, "This address does not take "+r.Method+".")
				return
			}
		}
		mux.ServeHTTP(w, r)
	})
}
