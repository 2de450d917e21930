package webtest

import (
	"context"
	"crypto/tls"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"gristmark/internal/harvest"
	"gristmark/internal/web"
	"gristmark/internal/web/door"
)

// Site is a log with its pages behind the door, on SQLite, with one farm and one harvest.
type Site struct {
	Log     *harvest.Log
	Server  *httptest.Server
	Adviser harvest.Who
	Farm    harvest.Farm
	Harvest harvest.Harvest
	Measure *Measurer

	network atomic.Int32
}

// States of the network between browser and site.
const (
	Up     = iota
	Down   // every request is cut off before it is read
	OneWay // what is sent arrives and is done, the answer is lost
)

// Network sets the state of the network.
func (s *Site) Network(state int32) { s.network.Store(state) }

// wire cuts connections as the state of the network asks for.
func (s *Site) wire(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch state := s.network.Load(); {
		case state == Down, state == OneWay && r.Method != http.MethodPost:
			panic(http.ErrAbortHandler)
		case state == OneWay:
			next.ServeHTTP(httptest.NewRecorder(), r)
			panic(http.ErrAbortHandler)
		}
		next.ServeHTTP(w, r)
	})
}

// The adviser's name and password, known to tests.
const (
	Name     = "Adviser"
	Password = "stack of seven bunkers"
)

// Options of a site.
type Options struct {
	Address string      // to listen on; empty: any port of this machine
	TLS     *tls.Config // nil: plain HTTP
	Workers int         // of measuring; 0: 2
}

// New starts a site that ends with the test.
func New(t testing.TB, opt Options) *Site {
	t.Helper()
	dir := t.TempDir()
	l, err := harvest.Open(t.Context(), harvest.Options{Database: "sqlite:" + filepath.Join(dir, "log.sqlite"), Photos: filepath.Join(dir, "photos"), Version: "test", Logger: slog.New(slog.DiscardHandler)})
	must(t, err)
	s := &Site{Log: l}
	s.Measure, err = NewMeasurer()
	must(t, err)
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- l.Run(ctx, s.Measure, max(opt.Workers, 2)) }()
	done := make(chan struct{})
	d := door.New(door.Options{Keys: l, Secure: opt.TLS != nil, Logger: slog.New(slog.DiscardHandler)})
	pages, err := web.New(web.Options{Log: l, Version: "test", Who: door.Who, SignIn: d.SignIn, SignOut: d.SignOut, Done: done, Logger: slog.New(slog.DiscardHandler)})
	must(t, err)
	s.start(t, s.wire(d.Wrap(pages)), opt)
	t.Cleanup(func() {
		close(done)
		s.Server.CloseClientConnections()
		s.Server.Close()
		stop()
		<-ended
		_ = l.Close(context.Background())
	})
	s.people(t)
	return s
}

func (s *Site) start(t testing.TB, h http.Handler, opt Options) {
	s.Server = httptest.NewUnstartedServer(h)
	if opt.Address != "" {
		listener, err := net.Listen("tcp", opt.Address)
		must(t, err)
		s.Server.Listener = listener
	}
	if s.Server.TLS = opt.TLS; opt.TLS != nil {
		s.Server.StartTLS()
	} else {
		s.Server.Start()
	}
}

// people makes the adviser, the farm and the harvest.
func (s *Site) people(t testing.TB) {
	token, _, err := s.Log.FirstLink(t.Context())
	must(t, err)
	s.Adviser, err = s.Log.Join(t.Context(), token, Name, Password)
	must(t, err)
	desk := s.Log.Desk(s.Adviser)
	farms, err := desk.Farms(t.Context())
	must(t, err)
	if len(farms) > 0 {
		s.Farm = farms[0]
	} else {
		s.Farm, err = desk.AddFarm(t.Context(), "Hill farm")
		must(t, err)
	}
	s.Harvest, err = desk.AddHarvest(t.Context(), harvest.Harvest{FarmID: s.Farm.ID, Name: "Bunker 2, 2026", Crop: "whole-plant maize", Targets: "maize-silage/conventional"})
	must(t, err)
}

// Member makes an account with a role on the farm.
func (s *Site) Member(t testing.TB, name string, role harvest.Role) harvest.Who {
	t.Helper()
	token, err := s.Log.Desk(s.Adviser).Invite(t.Context(), s.Farm.ID, role, time.Hour)
	must(t, err)
	who, err := s.Log.Join(t.Context(), token, name, Password)
	must(t, err)
	return who
}

// Stranger makes an account of another farm.
func (s *Site) Stranger(t testing.TB) harvest.Who {
	t.Helper()
	token, err := s.Log.Desk(s.Adviser).Invite(t.Context(), s.Farm.ID, harvest.Reader, time.Hour)
	must(t, err)
	who, err := s.Log.Join(t.Context(), token, "Stranger", Password)
	must(t, err)
	must(t, s.Log.Desk(s.Adviser).SetRole(t.Context(), s.Farm.ID, who.AccountID, ""))
	_, err = s.Log.Desk(who).AddFarm(t.Context(), "Valley farm")
	must(t, err)
	return who
}

// Load makes a load and sends it photos, and waits until they are measured.
func (s *Site) Load(t testing.TB, load harvest.Load, photos ...[]byte) harvest.Load {
	t.Helper()
	desk := s.Log.Desk(s.Adviser)
	load.HarvestID = s.Harvest.ID
	l, err := desk.AddLoad(t.Context(), load)
	must(t, err)
	for i, data := range photos {
		_, _, err := desk.Upload(t.Context(), l.ID, "", fmt.Sprintf("IMG_%d.jpg", i+1), strings.NewReader(string(data)), 0)
		must(t, err)
	}
	return s.Wait(t, l.ID)
}

// Wait waits until a load's photos are measured and its judgement is up to date.
func (s *Site) Wait(t testing.TB, load int64) harvest.Load {
	t.Helper()
	for end := time.Now().Add(5 * time.Minute); time.Now().Before(end); time.Sleep(30 * time.Millisecond) {
		q, err := s.Log.Queue(t.Context())
		must(t, err)
		if q.Waiting+q.Measuring+q.Judging == 0 {
			l, err := s.Log.Desk(s.Adviser).Load(t.Context(), load)
			must(t, err)
			return l
		}
	}
	t.Fatal("webtest: the photos are not measured within 5 minutes")
	return harvest.Load{}
}

// Season fills the harvest with loads: n steady ones, then the last one coarser; the roll gap is set anew half way.
func (s *Site) Season(t testing.TB, n int) []harvest.Load {
	t.Helper()
	var out []harvest.Load
	start := time.Date(2026, 9, 14, 8, 0, 0, 0, time.UTC)
	wobble := []float64{1, 1.03, .98, 1.01, .97, 1.02, .99, 1.04}
	for i := range n {
		at := start.Add(time.Duration(i) * 5 * time.Hour / 2)
		gap, dm, tloc, photo, factor := 3.0, 33+float64(i%5), 19.0, Coarse, wobble[i%len(wobble)]
		if i >= n/2 {
			gap, photo = 1.5, Fine
		}
		if i == n-1 {
			photo, factor = Coarse, 1.25
		}
		kernels, err := Variant(photo, i, factor, at)
		must(t, err)
		pieces, err := Variant(Pieces, i, wobble[(i+3)%len(wobble)], at)
		must(t, err)
		l := harvest.Load{Name: fmt.Sprintf("Load %d", i+1), At: at, Settings: harvest.Settings{Field: []string{"Long field", "Mill hill", "Brook end"}[i*3/n], Hybrid: []string{"early", "late"}[i*2/n], DMPct: &dm, TLOCMM: &tloc, RollGapMM: &gap, Process: "conventional"}}
		l.HarvestID = s.Harvest.ID
		desk := s.Log.Desk(s.Adviser)
		l, err = desk.AddLoad(t.Context(), l)
		must(t, err)
		for k, data := range [][]byte{kernels, pieces} {
			_, _, err := desk.Upload(t.Context(), l.ID, "", fmt.Sprintf("IMG_%d%d.jpg", i, k), strings.NewReader(string(data)), 0)
			must(t, err)
		}
		out = append(out, l)
	}
	for i := range out {
		out[i] = s.Wait(t, out[i].ID)
	}
	return out
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
