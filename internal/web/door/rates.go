package door

import (
	"container/list"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// maxKeys bounds the memory of one table of rates: beyond it, whoever was not seen longest is forgotten.
const maxKeys = 10_000

// table holds a token bucket for each of the latest keys.
type table struct {
	mu    sync.Mutex
	rate  Rate
	order *list.List // newest first
	by    map[string]*list.Element
}

type bucket struct {
	key string
	lim *rate.Limiter
}

func newTable(r Rate) *table {
	return &table{rate: r, order: list.New(), by: map[string]*list.Element{}}
}

// take takes one from the bucket of a key. When it is empty, wait says when to come again.
func (t *table) take(key string, now time.Time) (wait time.Duration, ok bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	e, seen := t.by[key]
	if seen {
		t.order.MoveToFront(e)
	} else {
		e = t.order.PushFront(bucket{key, t.rate.limiter()})
		t.by[key] = e
		if t.order.Len() > maxKeys {
			last := t.order.Back()
			delete(t.by, t.order.Remove(last).(bucket).key)
		}
	}
	lim := e.Value.(bucket).lim
	if lim.AllowN(now, 1) {
		return 0, true
	}
	missing := 1 - lim.TokensAt(now)
	return time.Duration(missing * float64(t.rate.Each)), false
}

type rates struct {
	signInAddress, signInName, uploadAddress, uploadWho *table
}

func newRates(l Limits) rates {
	return rates{newTable(l.SignInPerAddress), newTable(l.SignInPerName), newTable(l.UploadPerAddress), newTable(l.UploadPerWho)}
}

// limitSignIn slows down whoever tries passwords and links: by address, and by the name that is tried.
func (d *Door) limitSignIn(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !isSignIn(r) {
			next.ServeHTTP(w, r)
			return
		}
		if wait, ok := d.rates.signInAddress.take(d.network(r), time.Now()); !ok {
			d.tooOften(w, r, wait, "Too many tries to sign in from this address.")
			return
		}
		next.ServeHTTP(w, r)
	})
}

// limitName is the second part of it, once the form can be read; false: it was refused.
func (d *Door) limitName(w http.ResponseWriter, r *http.Request) bool {
	if r.URL.Path != "/sign-in" {
		return true
	}
	name := strings.ToLower(strings.TrimSpace(r.PostFormValue("name")))
	if wait, ok := d.rates.signInName.take(name, time.Now()); !ok {
		d.tooOften(w, r, wait, "Too many tries to sign in with this name.")
		return false
	}
	return true
}

func (d *Door) tooOften(w http.ResponseWriter, r *http.Request, wait time.Duration, why string) {
	d.count.refused.WithLabelValues("rate").Inc()
	seconds := max(1, int(math.Ceil(wait.Seconds())))
	w.Header().Set("Retry-After", strconv.Itoa(seconds))
	Refuse(w, r, http.StatusTooManyRequests, fmt.Sprintf("%s Wait %d seconds and try again.", why, seconds))
}
