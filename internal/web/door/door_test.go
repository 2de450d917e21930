package door

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"

	"gristmark/internal/harvest"
)

// keys is a log that knows one session and one token.
type keys struct {
	mu     sync.Mutex
	ended  []string
	broken error
}

func (k *keys) StartSession(context.Context, harvest.Who, time.Duration) (string, error) {
	return "new-session", nil
}

func (k *keys) EndSession(_ context.Context, token string) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.ended = append(k.ended, token)
	return nil
}

func (k *keys) Session(_ context.Context, token string) (harvest.Who, error) {
	if token == "good" {
		return harvest.Who{AccountID: 7, Name: "Ada"}, k.broken
	}
	return harvest.Who{}, harvest.ErrLink
}

func (k *keys) APIToken(_ context.Context, token string) (harvest.Who, error) {
	if token == "good" {
		return harvest.Who{AccountID: 8, Name: "a program"}, nil
	}
	return harvest.Who{}, harvest.ErrLink
}

// ask sends one request through a door before a handler, and returns the answer and what was written down.
func ask(t *testing.T, opt Options, h http.HandlerFunc, r *http.Request) (*httptest.ResponseRecorder, string) {
	t.Helper()
	var b bytes.Buffer
	if opt.Keys == nil {
		opt.Keys = &keys{}
	}
	opt.Logger = slog.New(slog.NewJSONHandler(&b, nil))
	w := httptest.NewRecorder()
	New(opt).Wrap(h).ServeHTTP(w, r)
	return w, b.String()
}

func whoIs(w http.ResponseWriter, r *http.Request) {
	if who, known := Who(r); known {
		_, _ = io.WriteString(w, who.Name)
		return
	}
	_, _ = io.WriteString(w, "nobody")
}

func request(method, path, cookie, bearer string) *http.Request {
	r := httptest.NewRequest(method, path, nil)
	if cookie != "" {
		r.AddCookie(&http.Cookie{Name: "gristmark", Value: cookie})
	}
	if bearer != "" {
		r.Header.Set("Authorization", bearer)
	}
	return r
}

func TestWhoAsks(t *testing.T) {
	for _, c := range []struct{ path, cookie, bearer, want string }{
		{"/", "", "", "nobody"},
		{"/", "good", "", "Ada"},
		{"/", "forged", "", "nobody"},
		{"/api/v1/harvests", "", "Bearer good", "a program"},
		{"/api/v1/harvests", "", "bearer good", "a program"},
		{"/api/v1/harvests", "good", "", "Ada"},
		{"/api/v1/harvests", "good", "Bearer forged", "nobody"}, // a wrong token is not made up for by a cookie
		{"/api/v1/harvests", "", "Basic good", "nobody"},
		{"/api/v1/harvests", "", "Bearer ", "nobody"},
		{"/", "", "Bearer good", "nobody"}, // tokens open no pages
		{"/static/app.css", "good", "", "nobody"},
	} {
		if w, _ := ask(t, Options{}, whoIs, request("GET", c.path, c.cookie, c.bearer)); w.Body.String() != c.want {
			t.Errorf("%+v: %s", c, w.Body)
		}
	}
	w, _ := ask(t, Options{Keys: &keys{broken: errors.New("database gone")}}, whoIs, request("GET", "/", "good", ""))
	if w.Code != http.StatusServiceUnavailable || !strings.Contains(w.Body.String(), "Nothing is lost") {
		t.Errorf("a lost database: %d %s", w.Code, w.Body)
	}
}

func TestCookies(t *testing.T) {
	k := &keys{}
	for _, secure := range []bool{false, true} {
		d := New(Options{Keys: k, Secure: secure})
		w := httptest.NewRecorder()
		r := httptest.NewRequest("POST", "/sign-in", nil)
		r.AddCookie(&http.Cookie{Name: d.cookieName(), Value: "before"})
		if err := d.SignIn(w, r, harvest.Who{AccountID: 1}); err != nil {
			t.Fatal(err)
		}
		c := w.Result().Cookies()[0]
		if !c.HttpOnly || c.SameSite != http.SameSiteLaxMode || c.Secure != secure || c.Path != "/" || c.Domain != "" || c.Value != "new-session" {
			t.Errorf("cookie %+v", c)
		}
		if strings.HasPrefix(c.Name, "__Host-") != secure {
			t.Errorf("cookie's name %s", c.Name)
		}
		w = httptest.NewRecorder()
		if err := d.SignOut(w, r); err != nil || w.Result().Cookies()[0].MaxAge >= 0 {
			t.Errorf("signed out: %v, %+v", err, w.Result().Cookies())
		}
	}
	if strings.Join(k.ended, " ") != "before before before before" {
		t.Errorf("sessions ended: %v", k.ended)
	}
}

func TestHeaders(t *testing.T) {
	w, _ := ask(t, Options{}, whoIs, request("GET", "/harvests/1", "", ""))
	for name, want := range map[string]string{
		"Content-Security-Policy": "default-src 'none'", "X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin",
		"X-Frame-Options": "DENY", "Cross-Origin-Resource-Policy": "same-origin", "Cache-Control": "no-store",
	} {
		if got := w.Header().Get(name); !strings.Contains(got, want) {
			t.Errorf("%s: %q", name, got)
		}
	}
	if csp := w.Header().Get("Content-Security-Policy"); strings.Contains(csp, "unsafe") || strings.Contains(csp, "*") {
		t.Errorf("policy %q", csp)
	}
}

func TestOtherSites(t *testing.T) {
	post := func(header, value string) int {
		r := httptest.NewRequest("POST", "http://laptop.local:8470/harvests", strings.NewReader("name=x"))
		r.Header.Set(header, value)
		w, _ := ask(t, Options{}, whoIs, r)
		return w.Code
	}
	for _, c := range []struct {
		header, value string
		want          int
	}{
		{"Sec-Fetch-Site", "cross-site", 403}, {"Sec-Fetch-Site", "same-site", 403}, {"Origin", "http://evil.example", 403}, {"Origin", "null", 403},
		{"Sec-Fetch-Site", "same-origin", 200}, {"Origin", "http://laptop.local:8470", 200}, {"Accept", "*/*", 200},
	} {
		if got := post(c.header, c.value); got != c.want {
			t.Errorf("%s %s: %d", c.header, c.value, got)
		}
	}
}

func TestBodiesAreBounded(t *testing.T) {
	limits := DefaultLimits()
	limits.FormBytes, limits.SignInBytes, limits.PhotoBytes, limits.UploadBytes = 100, 50, 1000, 2000
	read := func(w http.ResponseWriter, r *http.Request) {
		if _, err := io.ReadAll(r.Body); err != nil {
			var large *http.MaxBytesError
			if errors.As(err, &large) {
				w.WriteHeader(http.StatusRequestEntityTooLarge)
			}
		}
	}
	for _, c := range []struct {
		path       string
		n          int
		want       int
		withLength bool
	}{
		{"/harvests", 100, 200, true}, {"/harvests", 101, 413, true}, {"/harvests", 101, 413, false},
		{"/sign-in", 50, 200, true}, {"/sign-in", 51, 413, true}, {"/loads/3/photos", 2000, 200, true}, {"/loads/3/photos", 2001, 413, false},
		{"/harvests/3/loads", 2000, 200, true}, {"/api/v1/loads/3/photos", 1100, 200, true}, {"/api/v1/loads/3/photos", 1101, 413, true},
		{"/api/v1/harvests/3/loads", 101, 413, true},
	} {
		r := httptest.NewRequest("POST", c.path, strings.NewReader(strings.Repeat("x", c.n)))
		if !c.withLength {
			r.ContentLength = -1
		}
		if w, _ := ask(t, Options{Limits: limits}, read, r); w.Code != c.want {
			t.Errorf("%+v: %d %s", c, w.Code, w.Body)
		}
	}
}

// A panic is a clear answer; after half an answer the connection breaks, so that it does not look whole.
func TestPanics(t *testing.T) {
	registry := prometheus.NewRegistry()
	w, log := ask(t, Options{Registry: registry}, func(http.ResponseWriter, *http.Request) { panic("no such map") }, request("GET", "/harvests/4", "", ""))
	if w.Code != 500 || !strings.Contains(w.Body.String(), "A fault of the program") || strings.Contains(w.Body.String(), "no such map") {
		t.Errorf("answer %d %s", w.Code, w.Body)
	}
	if !strings.Contains(log, "no such map") || !strings.Contains(log, "door_test.go") {
		t.Errorf("written down: %s", log)
	}
	w, _ = ask(t, Options{}, func(http.ResponseWriter, *http.Request) { panic("no such map") }, request("GET", "/api/v1/me", "", ""))
	var p Problem
	if err := json.Unmarshal(w.Body.Bytes(), &p); err != nil || p.Status != 500 || w.Header().Get("Content-Type") != "application/problem+json" {
		t.Errorf("problem %v %+v", err, p)
	}
	defer func() {
		if recover() != http.ErrAbortHandler {
			t.Error("half an answer was ended as a whole one")
		}
	}()
	ask(t, Options{}, func(w http.ResponseWriter, _ *http.Request) {
		_, _ = io.WriteString(w, "half")
		panic("no such map")
	}, request("GET", "/", "", ""))
}

// Nothing secret is written down, and metrics have few labels whatever is asked for.
func TestWhatIsWrittenDown(t *testing.T) {
	registry := prometheus.NewRegistry()
	_, log := ask(t, Options{Registry: registry}, whoIs, request("GET", "/join/SECRETTOKEN?next=SECRETQUERY", "good", ""))
	if strings.Contains(log, "SECRET") || !strings.Contains(log, `"path":"/join/…"`) || !strings.Contains(log, `"account":7`) {
		t.Errorf("written down: %s", log)
	}
	d := New(Options{Keys: &keys{}, Registry: prometheus.NewRegistry()})
	h := d.Wrap(http.HandlerFunc(whoIs))
	for i := range 300 {
		for _, path := range []string{"/loads/", "/wp-admin/", "/api/v1/photos/", "/a/b/c/d/e/f/", "/crew/", "/static/"} {
			h.ServeHTTP(httptest.NewRecorder(), httptest.NewRequest("GET", path+strings.Repeat("k", i%50)+"x", nil))
		}
	}
	if n := testutil.CollectAndCount(d.count.requests); n > 8 {
		t.Errorf("%d series", n)
	}
}

func TestRoutes(t *testing.T) {
	for path, want := range map[string]string{
		"/": "/", "/loads/12": "/loads/…", "/loads/12/photos": "/loads/…/photos", "/photos/abcdefghij0123456789abcdef/overlay.jpg": "/photos/…/…",
		"/nowhere": "other", "/api/v1/loads/3/photos": "/api/v1/loads/…/photos", "/api/v1/x": "other", "/crew/abc": "/crew/…",
		"/static/app.css": "/static/…", "/healthz": "/healthz", "/api/v1/": "/api/v1/",
	} {
		if got := route(path); got != want {
			t.Errorf("%s: %s, want %s", path, got, want)
		}
	}
}

func TestRates(t *testing.T) {
	table := newTable(Rate{3, 10 * time.Second})
	now := time.Unix(1e9, 0)
	for i := range 3 {
		if _, ok := table.take("a", now); !ok {
			t.Errorf("try %d was refused", i)
		}
	}
	if wait, ok := table.take("a", now); ok || wait < 9*time.Second || wait > 11*time.Second {
		t.Errorf("the fourth: %v, %v", wait, ok)
	}
	if _, ok := table.take("b", now); !ok {
		t.Error("another key was refused")
	}
	if _, ok := table.take("a", now.Add(11*time.Second)); !ok {
		t.Error("after the wait it was refused")
	}
	for i := range maxKeys + 500 {
		table.take(netip.AddrFrom4([4]byte{10, byte(i >> 16), byte(i >> 8), byte(i)}).String(), now)
	}
	if len(table.by) != maxKeys || table.order.Len() != maxKeys {
		t.Errorf("%d keys, %d in order", len(table.by), table.order.Len())
	}
}

func TestTriesToSignIn(t *testing.T) {
	limits := DefaultLimits()
	limits.SignInPerAddress, limits.SignInPerName = Rate{6, time.Minute}, Rate{3, time.Minute}
	d := New(Options{Keys: &keys{}, Limits: limits})
	h := d.Wrap(http.HandlerFunc(whoIs))
	try := func(addr, path, name string) int {
		r := httptest.NewRequest("POST", path, strings.NewReader(url.Values{"name": {name}, "password": {"x"}}.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.RemoteAddr = addr
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code == 429 && w.Header().Get("Retry-After") == "" {
			t.Error("429 without Retry-After")
		}
		return w.Code
	}
	for i, want := range []int{200, 200, 200, 429} {
		if got := try("192.0.2.1:1", "/sign-in", []string{"Ada", "ada ", "ADA", "ada"}[i]); got != want {
			t.Errorf("try %d with one name: %d", i, got)
		}
	}
	for i, want := range []int{200, 200, 429} { // six of this address by now
		if got := try("192.0.2.1:1", "/crew/x", ""); got != want {
			t.Errorf("link %d: %d", i, got)
		}
	}
	if got := try("192.0.2.2:1", "/sign-in", "Bob"); got != 200 {
		t.Errorf("another address: %d", got)
	}
	for i, want := range []int{200, 200, 200, 200, 200, 200, 429} { // one network of IPv6 counts as one address
		if got := try(netip.AddrPortFrom(netip.MustParseAddr("2001:db8::"+string(rune('1'+i))), 1).String(), "/join/x", ""); got != want {
			t.Errorf("IPv6 %d: %d", i, got)
		}
	}
}

// Only a proxy on this machine, and only where one is said to be, tells whose address it is.
func TestAddressBehindProxy(t *testing.T) {
	public, _ := url.Parse("https://log.example.org")
	for _, c := range []struct {
		public       *url.URL
		remote, said string
		want         string
	}{
		{nil, "127.0.0.1:5", "203.0.113.9", "127.0.0.1"},
		{public, "127.0.0.1:5", "198.51.100.1, 203.0.113.9", "203.0.113.9"},
		{public, "192.0.2.7:5", "203.0.113.9", "192.0.2.7"},
		{public, "127.0.0.1:5", "nonsense", "127.0.0.1"},
		{public, "127.0.0.1:5", "", "127.0.0.1"},
	} {
		r := httptest.NewRequest("GET", "/", nil)
		r.RemoteAddr = c.remote
		if c.said != "" {
			r.Header.Set("X-Forwarded-For", c.said)
		}
		if got := New(Options{Keys: &keys{}, Public: c.public}).address(r).String(); got != c.want {
			t.Errorf("%+v: %s", c, got)
		}
		if Local(r) && c.said != "" {
			t.Errorf("%+v: passed for this machine itself", c)
		}
	}
}

// Bodies that stall or trickle are given up; the others of the same server are served meanwhile, and a slow but steady one is taken.
func TestSlowBodies(t *testing.T) {
	limits := DefaultLimits()
	limits.Pause, limits.Grace, limits.MinRate = 300*time.Millisecond, 600*time.Millisecond, 1000
	took := make(chan int, 10)
	d := New(Options{Keys: &keys{}, Limits: limits})
	server := httptest.NewServer(d.Wrap(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		n, err := io.Copy(io.Discard, r.Body)
		if err != nil {
			n = -1
		}
		took <- int(n)
	})))
	defer server.Close()
	send := func(parts, size int, every time.Duration) {
		c, err := net.Dial("tcp", server.Listener.Addr().String())
		if err != nil {
			t.Error(err)
			return
		}
		defer c.Close()
		_, _ = io.WriteString(c, "POST /loads/1/photos HTTP/1.1\r\nHost: x\r\nContent-Length: 2000\r\n\r\n")
		for range parts {
			if _, err := c.Write(make([]byte, size)); err != nil {
				return
			}
			time.Sleep(every)
		}
		time.Sleep(time.Second)
	}
	go send(1, 10, 0) // stalls
	if n := <-took; n != -1 {
		t.Errorf("a stalled body was taken: %d", n)
	}
	go send(200, 10, 50*time.Millisecond) // 200 bytes a second
	if n := <-took; n != -1 {
		t.Errorf("a trickling body was taken: %d", n)
	}
	go send(20, 100, 80*time.Millisecond) // 1250 bytes a second
	if n := <-took; n != 2000 {
		t.Errorf("a slow, steady body was not taken: %d", n)
	}
}

// What was set for one answer does not cut off the next on the same connection.
func TestNextAnswerOnTheSameConnection(t *testing.T) {
	limits := DefaultLimits()
	limits.Stall = 200 * time.Millisecond
	server := httptest.NewServer(New(Options{Keys: &keys{}, Limits: limits}).Wrap(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/none" {
			w.WriteHeader(http.StatusNoContent)
			return
		}
		_, _ = w.Write(make([]byte, 300<<10))
	})))
	defer server.Close()
	for _, path := range []string{"/", "/none", "/", "/none"} {
		res, err := server.Client().Get(server.URL + path)
		if err != nil {
			t.Fatal(err)
		}
		if n, err := io.Copy(io.Discard, res.Body); err != nil || path == "/" && n != 300<<10 {
			t.Errorf("%s: %d bytes, %v", path, n, err)
		}
		res.Body.Close()
		time.Sleep(300 * time.Millisecond)
	}
}

func TestEventStreamsPassThrough(t *testing.T) {
	server := httptest.NewServer(New(Options{Keys: &keys{}}).Wrap(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		c := http.NewResponseController(w)
		_, _ = io.WriteString(w, "data: one\n\n")
		if err := c.Flush(); err != nil {
			t.Error(err)
		}
		<-r.Context().Done()
	})))
	defer server.Close()
	res, err := server.Client().Get(server.URL + "/loads/1/events")
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	b := make([]byte, 100)
	if n, err := res.Body.Read(b); err != nil || string(b[:n]) != "data: one\n\n" {
		t.Errorf("read %q, %v", b[:n], err)
	}
}

func TestUploadsAtOnce(t *testing.T) {
	limits := DefaultLimits()
	limits.UploadsPerAddress, limits.Uploads = 2, 3
	hold, in := make(chan bool), make(chan bool)
	h := New(Options{Keys: &keys{}, Limits: limits}).Wrap(http.HandlerFunc(func(http.ResponseWriter, *http.Request) {
		in <- true
		<-hold
	}))
	upload := func(addr string) int {
		r := httptest.NewRequest("POST", "/loads/1/photos", strings.NewReader("x"))
		r.RemoteAddr = addr
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w.Code
	}
	for _, addr := range []string{"192.0.2.1:1", "192.0.2.1:2", "192.0.2.2:1"} {
		go upload(addr)
		<-in
	}
	if got := upload("192.0.2.1:3"); got != 503 {
		t.Errorf("a third of one address: %d", got)
	}
	if got := upload("192.0.2.3:3"); got != 503 {
		t.Errorf("a fourth of all: %d", got)
	}
	close(hold)
}
