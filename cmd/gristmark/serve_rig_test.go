package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"mime/multipart"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"gristmark/internal/harvest"
	"gristmark/internal/result"
)

// eye stands for the measurer where the photo does not matter.
type eye struct{ measured atomic.Int64 }

func (*eye) Version() string { return "test" }

func (e *eye) MeasurePhoto(_ context.Context, name string, _ []byte, _ harvest.Settings) (result.Photo, []byte, []byte, error) {
	e.measured.Add(1)
	return result.Photo{File: name, WidthPx: 40, HeightPx: 30, Status: result.Measured, Checks: []result.Check{}, Particles: []result.Particle{
		{ID: 1, Class: result.WholeKernel, AtPx: result.XY{10, 10}, LengthMM: 8, WidthMM: 5, AreaMM2: 30}}}, nil, nil, nil
}

func (*eye) Judge(_ context.Context, photos []result.Photo, _ [][]byte, _ harvest.Settings, targets string, _ []harvest.Correction) (result.Document, error) {
	return result.Document{Schema: result.Schema, Photos: photos, Sample: &result.Sample{Kernels: &result.Kernels{Whole: 1},
		Verdict: result.Verdict{Targets: targets}, Advice: []result.Advice{}}}, nil
}

// served is the whole server on a fresh log, with an adviser, a harvest, a load and a crew link.
type served struct {
	t       *testing.T
	url     string
	dir     string
	log     *harvest.Log
	eye     *eye
	late    time.Duration // how far the log's clock is ahead
	adviser harvest.Who
	desk    *harvest.Desk
	cookie  string // of the adviser
	token   string // of the adviser
	crew    string // link
	harvest harvest.Harvest
	load    harvest.Load
}

const testPassword = "a password for tests 1"

func newServed(t *testing.T, m harvest.Measurer) *served {
	t.Helper()
	s := &served{t: t, dir: t.TempDir(), eye: &eye{}}
	if m == nil {
		m = s.eye
	}
	ctx := context.WithoutCancel(t.Context())
	var err error
	s.log, err = harvest.Open(ctx, harvest.Options{Database: "sqlite:" + filepath.Join(s.dir, "log.db"), Photos: filepath.Join(s.dir, "photos"),
		Version: "test", Clock: func() time.Time { return time.Now().Add(s.late) }})
	s.check(err)
	logger := slog.New(slog.DiscardHandler)
	site, err := newSite(serveOptions{logPlace: logPlace{data: s.dir, photos: filepath.Join(s.dir, "photos")}}, s.log, logger)
	s.check(err)
	server := httptest.NewUnstartedServer(nil)
	server.Config = httpServer(site.handler, logger)
	server.Start()
	run, stop := context.WithCancel(ctx)
	ended := make(chan error, 1)
	go func() { ended <- s.log.Run(run, m, 2) }()
	t.Cleanup(func() {
		close(site.done)
		server.CloseClientConnections()
		server.Close()
		stop()
		s.check(errors.Join(<-ended, s.log.Close(ctx)))
	})
	s.url = server.URL
	s.people()
	return s
}

func (s *served) people() {
	ctx := s.t.Context()
	first, _, err := s.log.FirstLink(ctx)
	s.check(err)
	s.adviser, err = s.log.Join(ctx, first, "Ada", testPassword)
	s.check(err)
	s.desk = s.log.Desk(s.adviser)
	farm, err := s.desk.AddFarm(ctx, "Varnebrook")
	s.check(err)
	s.harvest, err = s.desk.AddHarvest(ctx, harvest.Harvest{FarmID: farm.ID, Name: "Silage"})
	s.check(err)
	s.load, err = s.desk.AddLoad(ctx, harvest.Load{HarvestID: s.harvest.ID, Name: "Load 1"})
	s.check(err)
	s.cookie, err = s.log.StartSession(ctx, s.adviser, time.Hour)
	s.check(err)
	s.token, _, err = s.desk.AddToken(ctx, "tests", time.Hour)
	s.check(err)
	s.crew, _, err = s.desk.AddCrewLink(ctx, s.harvest.ID, "wagon", time.Hour)
	s.check(err)
}

func (s *served) check(err error) {
	s.t.Helper()
	if err != nil {
		s.t.Fatal(err)
	}
}

func (s *served) request(method, path string, body io.Reader, kind string) *http.Request {
	s.t.Helper()
	r, err := http.NewRequest(method, s.url+path, body)
	s.check(err)
	if kind != "" {
		r.Header.Set("Content-Type", kind)
	}
	r.AddCookie(&http.Cookie{Name: "gristmark", Value: s.cookie})
	return r
}

// do sends a request and follows no redirect.
func (s *served) do(r *http.Request) (status int, body string, header http.Header) {
	s.t.Helper()
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := client.Do(r)
	s.check(err)
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	s.check(err)
	return res.StatusCode, string(data), res.Header
}

func (s *served) get(path string) (int, string) {
	s.t.Helper()
	status, body, _ := s.do(s.request("GET", path, nil, ""))
	return status, body
}

func (s *served) post(path string, form url.Values) (int, string) {
	s.t.Helper()
	status, body, _ := s.do(s.request("POST", path, strings.NewReader(form.Encode()), "application/x-www-form-urlencoded"))
	return status, body
}

// upload sends a photo to the pages as a form does.
func (s *served) upload(file string, data []byte) (int, string) {
	s.t.Helper()
	var b bytes.Buffer
	form := multipart.NewWriter(&b)
	part, err := form.CreateFormFile("photo", file)
	s.check(err)
	_, err = part.Write(data)
	s.check(err)
	s.check(form.Close())
	r := s.request("POST", fmt.Sprintf("/loads/%d/photos", s.load.ID), &b, form.FormDataContentType())
	r.Header.Set("Accept", "application/json")
	status, body, _ := s.do(r)
	return status, body
}

// photo waits until a photo of that name is measured, and returns it.
func (s *served) photo(file string) harvest.Photo {
	s.t.Helper()
	for range 1200 {
		l, err := s.desk.Load(s.t.Context(), s.load.ID)
		s.check(err)
		for _, p := range l.Photos {
			if p.File == file && p.State != harvest.Waiting && p.State != harvest.Measuring {
				return p
			}
		}
		time.Sleep(50 * time.Millisecond)
	}
	s.t.Fatalf("the photo %s was not measured in a minute", file)
	return harvest.Photo{}
}

// realMeasurer measures in a process as the server does: this test's own program, under the name that makes it gristmark.
func realMeasurer(t *testing.T) *measurer {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	program := filepath.Join(t.TempDir(), "gristmark")
	if err := os.Symlink(self, program); err != nil {
		t.Fatal(err)
	}
	m, err := newMeasurer(1)
	if err != nil {
		t.Fatal(err)
	}
	m.program = program
	return m
}

// peer is one end of a raw connection to the server.
func (s *served) peer() net.Conn {
	s.t.Helper()
	c, err := net.Dial("tcp", strings.TrimPrefix(s.url, "http://"))
	s.check(err)
	return c
}
