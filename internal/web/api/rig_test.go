package api

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gristmark/internal/harvest"
	"gristmark/internal/result"
	"gristmark/internal/web/door"
)

// eye is a measurer that needs no picture: two pieces in everything that begins like a JPEG, else refused.
type eye struct{}

func (eye) Version() string { return "test" }

func (eye) MeasurePhoto(_ context.Context, name string, data []byte, _ harvest.Settings) (result.Photo, []byte, []byte, error) {
	p := result.Photo{File: name, WidthPx: 40, HeightPx: 30, Status: result.Measured, Checks: []result.Check{}, Particles: []result.Particle{}}
	if !bytes.HasPrefix(data, []byte{0xff, 0xd8}) {
		why := "it is no photo"
		p.Status, p.Problem = result.Refused, &why
		return p, nil, nil, nil
	}
	for i, class := range []result.Class{result.WholeKernel, result.BrokenKernel} {
		p.Particles = append(p.Particles, result.Particle{ID: i + 1, Class: class, AtPx: result.XY{10, 10 * float64(i+1)}, LengthMM: 8, WidthMM: 5, AreaMM2: 30})
	}
	return p, []byte("overlay"), []byte("keep"), nil
}

func (eye) Judge(_ context.Context, photos []result.Photo, _ [][]byte, _ harvest.Settings, targets string, _ []harvest.Correction) (result.Document, error) {
	return result.Document{Schema: result.Schema, Photos: photos, Sample: &result.Sample{
		Kernels: &result.Kernels{Whole: 1, Broken: 1}, Verdict: result.Verdict{Targets: targets}, Advice: []result.Advice{}}}, nil
}

// rig is a whole API behind its door, with an account of each role and one of another farm.
type rig struct {
	t      *testing.T
	url    string
	log    *harvest.Log
	farm   harvest.Farm
	season harvest.Harvest
	desk   *harvest.Desk     // the adviser's
	key    map[string]string // token of each account
	cookie string            // of the crew link
	id     map[string]int64  // of each account
	n      int               // for names that differ
}

const password = "a password for tests 1"

func newRig(t *testing.T) *rig {
	t.Helper()
	dir, ctx := t.TempDir(), t.Context()
	l, err := harvest.Open(ctx, harvest.Options{Database: "sqlite:" + filepath.Join(dir, "log.db"), Photos: filepath.Join(dir, "photos"), Version: "test"})
	check(t, err)
	run, stop := context.WithCancel(context.WithoutCancel(ctx))
	ended := make(chan error, 1)
	go func() { ended <- l.Run(run, eye{}, 1) }()
	limits := door.DefaultLimits()
	limits.SignInPerAddress.Burst, limits.UploadPerAddress.Burst, limits.UploadPerWho.Burst = 10000, 10000, 10000
	d := door.New(door.Options{Keys: l, Limits: limits, Logger: slog.New(slog.DiscardHandler)})
	h, err := New(Options{Log: l, Who: door.Who, Version: "test", Exports: downloadsOf(l), MaxPhotoBytes: 1 << 20})
	check(t, err)
	server := httptest.NewServer(d.Wrap(h))
	t.Cleanup(func() {
		server.Close()
		stop()
		check(t, <-ended)
		check(t, l.Close(context.Background()))
	})
	r := &rig{t: t, url: server.URL, log: l, key: map[string]string{}, id: map[string]int64{}}
	r.people()
	return r
}

// downloadsOf stands for the pages: a download is there for whoever may see the harvest.
func downloadsOf(l *harvest.Log) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		who, _ := door.Who(r)
		var id int64
		var err error
		if _, scanned := fmt.Sscanf(r.URL.Path, "/harvests/%d/", &id); scanned == nil {
			_, err = l.Desk(who).Harvest(r.Context(), id)
		} else if _, scanned := fmt.Sscanf(r.URL.Path, "/loads/%d/", &id); scanned == nil {
			_, err = l.Desk(who).Load(r.Context(), id)
		}
		kinds := map[string]string{".csv": "text/csv", ".zip": "application/zip", ".pdf": "application/pdf",
			".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"}
		w.Header().Set("Content-Type", kinds[filepath.Ext(r.URL.Path)])
		if err != nil {
			http.Error(w, "<h1>not here</h1>", http.StatusNotFound)
			return
		}
		fmt.Fprint(w, "what was asked for")
	})
}

func (r *rig) people() {
	ctx := r.t.Context()
	first, needed, err := r.log.FirstLink(ctx)
	check(r.t, err)
	if !needed {
		r.t.Fatal("a fresh log needs no first account")
	}
	adviser, err := r.log.Join(ctx, first, "Ada", password)
	check(r.t, err)
	r.desk = r.log.Desk(adviser)
	r.farm = must(r.desk.AddFarm(ctx, "Varnebrook"))(r.t)
	r.season = must(r.desk.AddHarvest(ctx, harvest.Harvest{FarmID: r.farm.ID, Name: "Silage"}))(r.t)
	r.account("adviser", adviser)
	for name, role := range map[string]harvest.Role{"crew": harvest.Crew, "reader": harvest.Reader, "spare": harvest.Reader} {
		link := must(r.desk.Invite(ctx, r.farm.ID, role, time.Hour))(r.t)
		r.account(name, must(r.log.Join(ctx, link, name+" of the farm", password))(r.t))
	}
	link := must(r.desk.Invite(ctx, r.farm.ID, harvest.Reader, time.Hour))(r.t)
	stranger := must(r.log.Join(ctx, link, "stranger", password))(r.t)
	check(r.t, r.desk.SetRole(ctx, r.farm.ID, stranger.AccountID, ""))
	must(r.log.Desk(stranger).AddFarm(ctx, "Elsewhere"))(r.t)
	r.account("stranger", stranger)
	token, _, err := r.desk.AddCrewLink(ctx, r.season.ID, "wagon", time.Hour)
	check(r.t, err)
	who := must(r.log.CrewLink(ctx, token))(r.t)
	r.cookie = must(r.log.StartSession(ctx, who, time.Hour))(r.t)
}

func (r *rig) account(name string, who harvest.Who) {
	text, _, err := r.log.Desk(who).AddToken(r.t.Context(), "tests", time.Hour)
	check(r.t, err)
	r.key[name], r.id[name] = text, who.AccountID
}

// as returns a request as somebody: an account, link or nobody.
func (r *rig) as(name, method, path string, body io.Reader) *http.Request {
	req, err := http.NewRequest(method, r.url+Prefix+path, body)
	check(r.t, err)
	switch name {
	case "link":
		req.AddCookie(&http.Cookie{Name: "gristmark", Value: r.cookie})
	case "nobody":
	default:
		req.Header.Set("Authorization", "Bearer "+r.key[name])
	}
	if body != nil {
		req.Header.Set("Content-Type", "application/json")
	}
	return req
}

func (r *rig) do(req *http.Request) (status int, body string, header http.Header) {
	r.t.Helper()
	res, err := http.DefaultClient.Do(req)
	check(r.t, err)
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	check(r.t, err)
	return res.StatusCode, string(data), res.Header
}

// load makes a load with a measured photo.
func (r *rig) load() (harvest.Load, harvest.Photo) {
	r.t.Helper()
	ctx := r.t.Context()
	r.n++
	l := must(r.desk.AddLoad(ctx, harvest.Load{HarvestID: r.season.ID, Name: fmt.Sprintf("Load %d", r.n)}))(r.t)
	p, _, err := r.desk.Upload(ctx, l.ID, "", "a.jpg", strings.NewReader(fmt.Sprintf("\xff\xd8\xff\xda\x00\x02photo %d\xff\xd9", r.n)), 0)
	check(r.t, err)
	for range 400 {
		if l = must(r.desk.Load(ctx, l.ID))(r.t); l.Document != nil {
			return l, must(r.desk.Photo(ctx, p.ID))(r.t)
		}
		time.Sleep(25 * time.Millisecond)
	}
	r.t.Fatal("the photo was not measured in ten seconds")
	return l, p
}

func check(t *testing.T, err error) {
	t.Helper()
	if err != nil && !errors.Is(err, context.Canceled) {
		t.Fatal(err)
	}
}

func must[T any](v T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		check(t, err)
		return v
	}
}
