package door

import (
	"fmt"
	"net/http"
	"sync"
	"time"
)

// slots count the uploads under way.
type slots struct {
	mu         *sync.Mutex
	all        *int
	by         map[string]int
	most, each int
}

func newSlots(l Limits) slots {
	return slots{&sync.Mutex{}, new(int), map[string]int{}, l.Uploads, l.UploadsPerAddress}
}

func (s slots) take(key string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if *s.all >= s.most || s.by[key] >= s.each {
		return false
	}
	*s.all++
	s.by[key]++
	return true
}

func (s slots) free(key string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	*s.all--
	if s.by[key]--; s.by[key] == 0 {
		delete(s.by, key)
	}
}

// limitUploads bounds how many uploads run at once and how often they start; what is over is told to come again and loses nothing, as
// the phone keeps the photo.
func (d *Door) limitUploads(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !isUpload(r) {
			next.ServeHTTP(w, r)
			return
		}
		from := d.network(r)
		if wait, ok := d.rates.uploadAddress.take(from, time.Now()); !ok {
			d.tooOften(w, r, wait, "Too many uploads from this address.")
			return
		}
		if !d.slots.take(from) {
			d.count.refused.WithLabelValues("busy").Inc()
			w.Header().Set("Retry-After", "10")
			w.Header().Set("Connection", "close")
			Refuse(w, r, http.StatusServiceUnavailable, "Too many uploads run at once. The photo is still on the phone: send it again in ten seconds.")
			return
		}
		defer d.slots.free(from)
		next.ServeHTTP(w, r)
	})
}

// limitWho is the second part of it, once it is known who asks; false: it was refused.
func (d *Door) limitWho(w http.ResponseWriter, r *http.Request) bool {
	who, known := Who(r)
	if !known || !isUpload(r) {
		return true
	}
	if wait, ok := d.rates.uploadWho.take(fmt.Sprint(who.AccountID, " ", who.LinkID), time.Now()); !ok {
		d.tooOften(w, r, wait, "Too many uploads in a short time.")
		return false
	}
	return true
}
