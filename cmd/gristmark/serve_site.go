package main

import (
	"context"
	"crypto/tls"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"gristmark/internal/harvest"
	"gristmark/internal/web"
	"gristmark/internal/web/api"
	"gristmark/internal/web/door"
)

// site is everything that is served.
type site struct {
	handler http.Handler
	plain   http.Handler     // for whoever does not speak TLS where it is served
	cert    *tls.Certificate // nil: no TLS
	ca      *door.CA         // nil: none was made
	public  *url.URL
	done    chan struct{} // closed when the server stops
	logger  *slog.Logger
}

func newSite(opt serveOptions, l *harvest.Log, logger *slog.Logger) (*site, error) {
	s := &site{cert: opt.cert, public: opt.public, done: make(chan struct{}), logger: logger}
	if opt.makeCA {
		ca, err := door.MakeCA(filepath.Join(opt.data, "ca"), door.Names(), door.Addresses(), time.Now())
		if err != nil {
			return nil, said(err)
		}
		s.ca, s.cert = ca, &ca.Cert
	}
	registry := prometheus.NewRegistry()
	registry.MustRegister(collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}), queueCollector{l})
	secure := s.cert != nil || s.public != nil && s.public.Scheme == "https"
	d := door.New(door.Options{Keys: l, Logger: logger, Registry: registry, Secure: secure, Public: s.public})
	pages, err := web.New(web.Options{Log: l, Version: programVersion(), Who: door.Who, SignIn: d.SignIn, SignOut: d.SignOut, Done: s.done, Logger: logger})
	if err != nil {
		return nil, err
	}
	programs, err := api.New(api.Options{Log: l, Who: door.Who, Version: programVersion(), Exports: pages, Logger: logger})
	if err != nil {
		return nil, err
	}
	mux := http.NewServeMux()
	mux.Handle("/", pages)
	mux.Handle(api.Prefix+"/", programs)
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, r *http.Request) { health(w, r, l, opt.photos) })
	mux.Handle("GET /metrics", metricsFor(l, promhttp.HandlerFor(registry, promhttp.HandlerOpts{})))
	if s.ca != nil {
		mux.HandleFunc("GET /ca.crt", s.serveCA)
	}
	s.handler, s.plain = d.Wrap(mux), http.HandlerFunc(s.toTLS)
	return s, nil
}

// address is where people reach the site.
func (s *site) address(at net.Addr) string {
	if s.public != nil {
		return s.public.String()
	}
	scheme := "http"
	if s.cert != nil {
		scheme = "https"
	}
	host, port, err := net.SplitHostPort(at.String())
	if err != nil {
		return scheme + "://" + at.String()
	}
	if ip := net.ParseIP(host); ip != nil && ip.IsUnspecified() {
		host = "localhost"
		if list := door.Addresses(); len(list) > 0 {
			host = list[0].String()
		}
	}
	return scheme + "://" + net.JoinHostPort(host, port)
}

// health answers 200 while the log can be read and written, else 503 with the reason.
func health(w http.ResponseWriter, r *http.Request, l *harvest.Log, photos string) {
	ctx, cancel := context.WithTimeout(r.Context(), 5*time.Second)
	defer cancel()
	status, says := http.StatusOK, map[string]string{"status": "ok", "version": programVersion()}
	if err := errors.Join(l.Ping(ctx), takesPhotos(photos)); err != nil {
		status, says = http.StatusServiceUnavailable, map[string]string{"status": "unavailable", "reason": said(err).Error()}
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(says)
}

// takesPhotos tries whether a folder of photos can be written; a bucket is the log's to ask.
func takesPhotos(where string) error {
	dir := strings.TrimPrefix(where, "file://")
	if strings.Contains(dir, "://") {
		return nil
	}
	f, err := os.CreateTemp(dir, ".healthz-*")
	if err != nil {
		return fmt.Errorf("the folder of the photos cannot be written: %v", unwrapped(err))
	}
	return errors.Join(f.Close(), os.Remove(f.Name()))
}

// metricsFor lets this machine and advisers look at the metrics.
func metricsFor(l *harvest.Log, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if door.Local(r) || isAdviser(r, l) {
			next.ServeHTTP(w, r)
			return
		}
		door.Refuse(w, r, http.StatusForbidden, "The metrics are for this machine itself, and for the tokens of advisers.")
	})
}

func isAdviser(r *http.Request, l *harvest.Log) bool {
	who, known := door.Who(r)
	if !known || who.AccountID == 0 {
		return false
	}
	farms, err := l.Desk(who).Farms(r.Context())
	if err != nil {
		return false
	}
	for _, f := range farms {
		if f.Role == harvest.Adviser {
			return true
		}
	}
	return false
}

// queueCollector tells what waits to be measured.
type queueCollector struct{ log *harvest.Log }

var queueDesc = prometheus.NewDesc("gristmark_photos", "Photos that are not measured yet, by state; loads whose judgement is out of date.", []string{"state"}, nil)

// Describe names the metric.
func (q queueCollector) Describe(out chan<- *prometheus.Desc) { out <- queueDesc }

// Collect asks the log.
func (q queueCollector) Collect(out chan<- prometheus.Metric) {
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	s, err := q.log.Queue(ctx)
	if err != nil {
		out <- prometheus.NewInvalidMetric(queueDesc, err)
		return
	}
	for state, n := range map[string]int{"waiting": s.Waiting, "measuring": s.Measuring, "failed": s.Failed, "judging": s.Judging} {
		out <- prometheus.MustNewConstMetric(queueDesc, prometheus.GaugeValue, float64(n), state)
	}
}

func (s *site) serveCA(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "application/x-x509-ca-cert")
	w.Header().Set("Content-Disposition", `attachment; filename="gristmark-ca.crt"`)
	_, _ = w.Write(s.ca.DER)
}

// toTLS answers plain HTTP where TLS is served: with the certificate and how a phone takes it, or else with the way there.
func (s *site) toTLS(w http.ResponseWriter, r *http.Request) {
	host := r.Host
	if host == "" {
		http.Error(w, "This server speaks HTTPS.", http.StatusBadRequest)
		return
	}
	to := (&url.URL{Scheme: "https", Host: host, Path: "/"}).String()
	switch {
	case s.ca == nil:
		http.Redirect(w, r, to, http.StatusPermanentRedirect)
	case r.URL.Path == "/ca.crt":
		s.serveCA(w, r)
	case r.Method != http.MethodGet && r.Method != http.MethodHead:
		http.Error(w, "Send this to "+to, http.StatusBadRequest)
	default:
		w.Header().Set("Content-Security-Policy", fmt.Sprintf("default-src 'none'; style-src '%s'; frame-ancestors 'none'; base-uri 'none'", trustStyleHash))
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.Header().Set("Cache-Control", "no-store")
		w.Header().Set("X-Content-Type-Options", "nosniff")
		_ = trustPage.Execute(w, map[string]string{"To": to, "Finger": s.ca.Finger, "Style": trustStyle})
	}
}
