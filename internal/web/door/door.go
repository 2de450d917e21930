// Package door stands before every page and the API: who asks, how much and how fast they may send, what a browser may do with the
// answers, and what is written down of each request. Handlers behind it take who asks from [Who] and nothing else from cookies or headers.
package door

import (
	"context"
	"log/slog"
	"net/http"
	"net/url"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"gristmark/internal/harvest"
)

// Keys knows sessions and tokens; a harvest log does.
type Keys interface {
	StartSession(ctx context.Context, w harvest.Who, life time.Duration) (token string, err error)
	EndSession(ctx context.Context, token string) error
	Session(ctx context.Context, token string) (harvest.Who, error)
	APIToken(ctx context.Context, token string) (harvest.Who, error)
}

// Options set up a door; zero values take the defaults.
type Options struct {
	Keys     Keys
	Logger   *slog.Logger          // requests go here; nil: nowhere
	Registry prometheus.Registerer // metrics go here; nil: nowhere
	Secure   bool                  // people reach the server by TLS
	Public   *url.URL              // the address people use, where a proxy on this machine stands before the server; nil: none
	Life     time.Duration         // of a session; default 30 days
	Limits   Limits                // default DefaultLimits
}

// Door wraps handlers. It may be used from many goroutines at once.
type Door struct {
	opt    Options
	rates  rates
	slots  slots
	origin *http.CrossOriginProtection
	count  counts
}

// New makes a door.
func New(opt Options) *Door {
	if opt.Logger == nil {
		opt.Logger = slog.New(slog.DiscardHandler)
	}
	if opt.Life == 0 {
		opt.Life = 30 * 24 * time.Hour
	}
	if opt.Limits == (Limits{}) {
		opt.Limits = DefaultLimits()
	}
	d := &Door{opt: opt, rates: newRates(opt.Limits), slots: newSlots(opt.Limits), count: newCounts(opt.Registry)}
	d.origin = d.newOrigin()
	return d
}

// Wrap puts the door before a handler.
func (d *Door) Wrap(next http.Handler) http.Handler {
	h := d.identify(d.afterWho(next))
	h = d.limitUploads(h)
	h = d.limitBody(h)
	h = d.limitSignIn(h)
	h = d.origin.Handler(h)
	h = headers(h)
	return d.record(h)
}
