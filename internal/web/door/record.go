package door

import (
	"context"
	"crypto/rand"
	"fmt"
	"log/slog"
	"net/http"
	"runtime/debug"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"gristmark/internal/harvest"
)

// counts are the metrics of requests.
type counts struct {
	requests *prometheus.CounterVec
	seconds  *prometheus.HistogramVec
	flying   prometheus.Gauge
	refused  *prometheus.CounterVec
	panics   prometheus.Counter
}

func newCounts(reg prometheus.Registerer) counts {
	c := counts{
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "gristmark_http_requests_total", Help: "Requests answered."}, []string{"method", "route", "status"}),
		seconds: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "gristmark_http_request_seconds", Help: "Time from the first byte of a request to the last of its answer.",
			Buckets: []float64{.005, .01, .025, .05, .1, .2, .5, 1, 2.5, 10, 60}}, []string{"route"}),
		flying:  prometheus.NewGauge(prometheus.GaugeOpts{Name: "gristmark_http_requests_in_flight", Help: "Requests under way."}),
		refused: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "gristmark_http_refused_total", Help: "Requests refused at the door, by reason."}, []string{"reason"}),
		panics:  prometheus.NewCounter(prometheus.CounterOpts{Name: "gristmark_http_panics_total", Help: "Faults of the program while answering."}),
	}
	if reg != nil {
		reg.MustRegister(c.requests, c.seconds, c.flying, c.refused, c.panics)
	}
	return c
}

// note is what is written down of a request besides what the request says.
type note struct {
	id  string
	who harvest.Who
}

func noteOf(r *http.Request) *note {
	if n, ok := r.Context().Value(noteKey).(*note); ok {
		return n
	}
	return &note{}
}

// record writes a line for each request and counts it; a panic becomes an answer.
func (d *Door) record(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		n, start := &note{id: rand.Text()[:10]}, time.Now()
		out := &writer{ResponseWriter: w, control: http.NewResponseController(w), stall: d.opt.Limits.Stall}
		r = r.WithContext(context.WithValue(r.Context(), noteKey, n))
		_ = out.control.SetWriteDeadline(time.Time{}) // that of the answer before, on the same connection
		d.count.flying.Inc()
		defer func() {
			d.count.flying.Dec()
			fault := recover()
			if fault != nil && fault != http.ErrAbortHandler {
				d.caught(out, r, n, fault)
			}
			d.write(out, r, n, time.Since(start))
			if fault != nil && (fault == http.ErrAbortHandler || out.begun) {
				panic(http.ErrAbortHandler) // half an answer must not look whole
			}
		}()
		next.ServeHTTP(out, r)
	})
}

func (d *Door) caught(w *writer, r *http.Request, n *note, fault any) {
	d.count.panics.Inc()
	d.opt.Logger.Error("a fault of the program", "request", n.id, "path", shown(r.URL.Path), "fault", fmt.Sprint(fault), "stack", string(debug.Stack()))
	if w.status == 0 {
		Refuse(w, r, http.StatusInternalServerError, "A fault of the program. What was stored before stays stored; the program's log has it under "+n.id+".")
		w.begun = false
	}
}

func (d *Door) write(w *writer, r *http.Request, n *note, took time.Duration) {
	status := w.status
	if status == 0 {
		status = http.StatusOK
	}
	name := route(r.URL.Path)
	d.count.requests.WithLabelValues(method(r.Method), name, strconv.Itoa(status)).Inc()
	d.count.seconds.WithLabelValues(name).Observe(took.Seconds())
	level := slog.LevelInfo
	if !private(r.URL.Path) {
		level = slog.LevelDebug
	}
	args := []any{"request", n.id, "method", method(r.Method), "path", shown(r.URL.Path), "status", status, "bytes", w.bytes,
		"ms", float64(took.Microseconds()) / 1000, "from", d.address(r).String()}
	switch {
	case n.who.AccountID != 0:
		args = append(args, "account", n.who.AccountID)
	case n.who.LinkID != 0:
		args = append(args, "link", n.who.LinkID)
	}
	d.opt.Logger.Log(r.Context(), level, "request", args...)
}

// method bounds the number of methods told apart.
func method(m string) string {
	switch m {
	case "GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS":
		return m
	}
	return "other"
}

// writer notes status and size, and gives up on a reader that takes nothing any more.
type writer struct {
	http.ResponseWriter
	control *http.ResponseController
	stall   time.Duration
	status  int
	bytes   int64
	begun   bool // of the body
}

// Unwrap lets http.ResponseController through.
func (w *writer) Unwrap() http.ResponseWriter { return w.ResponseWriter }

func (w *writer) WriteHeader(status int) {
	if w.status == 0 && status >= 200 {
		w.status = status
	}
	w.ResponseWriter.WriteHeader(status)
}

// piece is what a reader must take within the stall.
const piece = 64 << 10

func (w *writer) Write(b []byte) (n int, err error) {
	if w.status == 0 {
		w.status = http.StatusOK
	}
	w.begun = true
	for {
		_ = w.control.SetWriteDeadline(time.Now().Add(w.stall))
		k, err := w.ResponseWriter.Write(b[:min(len(b), piece)])
		n += k
		w.bytes += int64(k)
		if b = b[k:]; err != nil || len(b) == 0 {
			return n, err
		}
	}
}

// Flush is for event streams, between whose parts any time may pass.
func (w *writer) Flush() {
	_ = w.control.SetWriteDeadline(time.Now().Add(w.stall))
	_ = w.control.Flush()
	_ = w.control.SetWriteDeadline(time.Time{})
}
