package door

import (
	"fmt"
	"io"
	"net/http"
	"time"
)

// mostBytes of a request's body.
func (d *Door) mostBytes(r *http.Request) int64 {
	l := d.opt.Limits
	switch {
	case isSignIn(r):
		return l.SignInBytes
	case isUpload(r) && isAPI(r.URL.Path):
		return l.PhotoBytes + l.FormBytes
	case isUpload(r):
		return l.UploadBytes
	}
	return l.FormBytes
}

// limitBody bounds the size of a body and the time that it may take.
func (d *Door) limitBody(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Body == nil || r.Body == http.NoBody {
			if d.limitName(w, r) {
				next.ServeHTTP(w, r)
			}
			return
		}
		most := d.mostBytes(r)
		if r.ContentLength > most {
			d.count.refused.WithLabelValues("size").Inc()
			w.Header().Set("Connection", "close")
			Refuse(w, r, http.StatusRequestEntityTooLarge, fmt.Sprintf("What was sent has %.1f MB; at most %.3g MB are taken here.", mb(r.ContentLength), mb(most)))
			return
		}
		p := &paced{ReadCloser: r.Body, door: d, control: http.NewResponseController(w), start: time.Now()}
		p.wait()
		r.Body = http.MaxBytesReader(w, p, most)
		if d.limitName(w, r) {
			next.ServeHTTP(w, r)
		}
	})
}

func mb(bytes int64) float64 { return float64(bytes) / (1 << 20) }

// paced gives up on a body that comes too slowly, so that stalled senders cannot pile up.
type paced struct {
	io.ReadCloser
	door    *Door
	control *http.ResponseController
	start   time.Time
	n       int64
	over    bool
}

// wait sets the time by which the next part must be there.
func (p *paced) wait() {
	l := p.door.opt.Limits
	pause := time.Now().Add(l.Pause)
	whole := p.start.Add(l.Grace)
	if l.MinRate > 0 {
		whole = whole.Add(time.Duration(float64(p.n) / float64(l.MinRate) * float64(time.Second)))
	}
	if whole.Before(pause) {
		pause = whole
	}
	_ = p.control.SetReadDeadline(pause) // a connection that cannot, such as a test's recorder, has no slow senders
}

func (p *paced) Read(b []byte) (int, error) {
	p.wait()
	n, err := p.ReadCloser.Read(b)
	p.n += int64(n)
	if err == io.EOF && !p.over { // nothing is waited for any more: a deadline would cut off the answer
		p.over = true
		_ = p.control.SetReadDeadline(time.Time{})
	} else if err != nil && !p.over {
		p.over = true
		p.door.count.refused.WithLabelValues("slow").Inc()
	}
	return n, err
}
