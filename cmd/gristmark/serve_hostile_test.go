package main

import (
	"bufio"
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"hash/crc32"
	"io"
	"io/fs"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"gristmark/internal/harvest"
)

// pngOf is a PNG whose header claims a size and whose pixels inflate to so many zeros.
func pngOf(width, height uint32, zeros int) []byte {
	var b bytes.Buffer
	b.WriteString("\x89PNG\r\n\x1a\n")
	chunk := func(name string, data []byte) {
		_ = binary.Write(&b, binary.BigEndian, uint32(len(data)))
		body := append([]byte(name), data...)
		b.Write(body)
		_ = binary.Write(&b, binary.BigEndian, crc32.ChecksumIEEE(body))
	}
	header := binary.BigEndian.AppendUint32(nil, width)
	header = binary.BigEndian.AppendUint32(header, height)
	chunk("IHDR", append(header, 8, 0, 0, 0, 0))
	var pixels bytes.Buffer
	z := zlib.NewWriter(&pixels)
	_, _ = io.CopyN(z, zeroReader{}, int64(zeros))
	_ = z.Close()
	chunk("IDAT", pixels.Bytes())
	chunk("IEND", nil)
	return b.Bytes()
}

type zeroReader struct{}

func (zeroReader) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// Files that are no honest photo are taken in, looked at in a process of their own, and refused with a reason; the server goes on.
func TestServeRefusesFilesInDisguise(t *testing.T) {
	s := newServed(t, realMeasurer(t))
	html := "<html><script>alert(document.cookie)</script></html>"
	for name, c := range map[string]struct {
		data []byte
		want string // in the reason
	}{
		"claims-a-lot.png":   {pngOf(40000, 30000, 1000), "megapixels"},
		"inflates.png":       {pngOf(64, 64, 200<<20), ""},
		"long-strip.png":     {pngOf(1<<31-1, 1, 100), ""},
		"page.jpg":           {[]byte(html), ""},
		"page-in-jpeg.jpg":   {[]byte("\xff\xd8\xff\xe0\x00\x10JFIF\x00" + html), ""},
		"gif-and-script.jpg": {[]byte("GIF89a/*" + html + "*/=1;"), ""},
		"drawing.svg":        {[]byte(`<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>`), ""},
		"archive.jpg":        {[]byte("PK\x03\x04" + strings.Repeat("\x00", 300)), ""},
		"program.jpg":        {[]byte("\x7fELF" + strings.Repeat("\x00", 300)), ""},
		"zeros.heic":         {make([]byte, 5000), ""},
	} {
		if status, body := s.upload(name, c.data); status != http.StatusCreated {
			t.Errorf("%s: upload %d %s", name, status, body)
			continue
		}
		p := s.photo(name)
		if p.State != harvest.Refused || p.Problem == "" || !strings.Contains(p.Problem, c.want) {
			t.Errorf("%s: %s, %q", name, p.State, p.Problem)
		}
		s.servesNoPage(p.ID, html)
	}
	if status, _ := s.get("/healthz"); status != http.StatusOK {
		t.Errorf("healthz %d", status)
	}
}

// servesNoPage checks that the bytes of an upload never come back as a page or a script.
func (s *served) servesNoPage(id, html string) {
	s.t.Helper()
	for _, path := range []string{"/photos/" + id + "/original", "/photos/" + id + "/small.jpg", "/photos/" + id + "/overlay.jpg", "/api/v1/photos/" + id + "/image"} {
		status, body, header := s.do(s.request("GET", path, nil, ""))
		kind := header.Get("Content-Type")
		harmless := strings.HasPrefix(kind, "image/jpeg") || strings.HasPrefix(kind, "image/png") || strings.HasPrefix(kind, "image/webp")
		attached := strings.HasPrefix(header.Get("Content-Disposition"), "attachment")
		if status == http.StatusOK && !harmless && !attached || status >= 500 {
			s.t.Errorf("%s: %d %s", path, status, kind)
		}
		if !attached && strings.Contains(body, html) && !harmless || header.Get("X-Content-Type-Options") != "nosniff" {
			s.t.Errorf("%s serves what was hidden in it", path)
		}
	}
}

func TestServeNamesOfFilesGoNowhere(t *testing.T) {
	s := newServed(t, nil)
	for i, name := range []string{"../../../etc/passwd", `..\..\windows\win.ini`, "/etc/cron.d/job", "a\x00.jpg", "..", ".", "con.jpg", strings.Repeat("x", 5000) + ".jpg", "a/../../b.jpg", "%2e%2e%2fx.jpg", "-rf.jpg", "\u202egpj.exe"} {
		r := s.request("POST", fmt.Sprintf("/api/v1/loads/%d/photos?file=%s", s.load.ID, url.QueryEscape(name)), strings.NewReader(fmt.Sprintf("photo %d", i)), "image/jpeg")
		status, body, _ := s.do(r)
		if status != http.StatusCreated && status != http.StatusUnprocessableEntity && status != http.StatusBadRequest {
			t.Errorf("%q: %d %s", name, status, body)
		}
	}
	check := func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && (strings.Contains(path, "passwd") || strings.Contains(path, "cron") || strings.HasSuffix(path, ".jpg") || strings.Contains(path, "win.ini")) {
			t.Errorf("a file of the uploader's naming: %s", path)
		}
		return err
	}
	s.check(filepath.WalkDir(s.dir, check))
	l, err := s.desk.Load(t.Context(), s.load.ID)
	s.check(err)
	for _, p := range l.Photos {
		if strings.ContainsAny(p.File, "/\\\x00") || p.File == ".." || len([]rune(p.File)) > 200 {
			t.Errorf("kept the name %q", p.File)
		}
	}
	for _, path := range []string{"/static/../../../etc/passwd", "/static/%2e%2e/%2e%2e/etc/passwd", "/photos/../log.db", "/photos/..%2f..%2flog.db/original", "//etc/passwd", "/static/", "/photos/", "/.git/config", "/log.db", "/photos"} {
		status, body, _ := s.do(s.request("GET", path, nil, ""))
		if status == http.StatusOK || strings.Contains(body, "root:") || strings.Contains(body, "SQLite format") {
			t.Errorf("%s: %d", path, status)
		}
	}
}

// nasty is text that breaks out of SQL, of templates, of attributes and of scripts, where one lets it.
var nasty = []string{
	`'; DROP TABLE photo; --`, `" OR 1=1 --`, `<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `{{7777*7777}}${7777*7777}`,
	`{{.Log}}{{template "x"}}`, `javascript:alert(1)`, `%s%d%n`, `=cmd|'/c calc'!A1`, `]]></svg><script>alert(1)</script>`, "line\u2028break",
}

var pageLink = regexp.MustCompile(`(?:href|src)="(/[^"#]*)"`)

// Every field of the log is filled with hostile text; every page that can be reached shows it as text, or not at all.
func TestServeShowsTextAsText(t *testing.T) {
	s := newServed(t, nil)
	ctx := t.Context()
	for i, text := range nasty {
		s.fill(i, text)
	}
	loads, err := s.desk.Loads(ctx, s.harvest.ID, harvest.Filter{Text: "' OR '1'='1"})
	if err != nil || len(loads) != 0 {
		t.Errorf("a search for SQL found %d loads, %v", len(loads), err)
	}
	seen, todo := map[string]bool{}, []string{"/", fmt.Sprintf("/harvests/%d/links", s.harvest.ID), fmt.Sprintf("/harvests/%d/compare?a_field=%s", s.harvest.ID, url.QueryEscape(nasty[3])),
		"/sign-in?next=" + url.QueryEscape("//evil.example"+nasty[3]), "/nothing/" + url.PathEscape(nasty[2]), "/join/" + url.PathEscape(nasty[3])}
	for len(todo) > 0 && len(seen) < 250 {
		path := strings.ReplaceAll(todo[0], "&amp;", "&")
		todo = todo[1:]
		if seen[path] || strings.HasPrefix(path, "/static/") {
			continue
		}
		seen[path] = true
		status, body, header := s.do(s.request("GET", path, nil, ""))
		if status >= 500 {
			t.Errorf("%s: %d %s", path, status, body)
		}
		if !strings.HasPrefix(header.Get("Content-Type"), "text/html") {
			continue
		}
		for _, bad := range []string{"<script>alert", "<img src=x", "60481729", "</svg><script", `href="javascript:`, `href="//evil`} {
			if strings.Contains(body, bad) {
				t.Errorf("%s holds %s", path, bad)
			}
		}
		for _, m := range pageLink.FindAllStringSubmatch(body, -1) {
			todo = append(todo, m[1])
		}
	}
	if len(seen) < 30 {
		t.Errorf("only %d pages were reached", len(seen))
	}
	back, err := s.desk.Loads(ctx, s.harvest.ID, harvest.Filter{})
	if err != nil || len(back) < len(nasty) {
		t.Errorf("%d loads, %v", len(back), err)
	}
}

// fill puts a text into every field, by the API and by forms; a field may refuse it with a reason, never with a fault.
func (s *served) fill(i int, text string) {
	s.t.Helper()
	ask := func(method, path string, v any) map[string]any {
		body, err := json.Marshal(v)
		s.check(err)
		status, answer, _ := s.do(s.request(method, "/api/v1"+path, bytes.NewReader(body), "application/json"))
		if status >= 500 {
			s.t.Errorf("%s %s with %q: %d %s", method, path, text, status, answer)
		}
		var out map[string]any
		_ = json.Unmarshal([]byte(answer), &out)
		return out
	}
	harvests, loads := fmt.Sprintf("/harvests/%d", s.harvest.ID), fmt.Sprintf("/harvests/%d/loads", s.harvest.ID)
	ask("POST", "/farms", map[string]any{"name": text})
	ask("POST", "/harvests", map[string]any{"farm_id": s.harvest.FarmID, "name": text, "crop": text, "targets": text})
	settings := map[string]any{"field": text, "hybrid": text, "process": text, "state": text, "show": text, "scale": text, "kernel": text, "note": text}
	made := ask("POST", loads, map[string]any{"name": text, "settings": settings})
	if made["name"] != nil && made["name"] != strings.TrimSpace(text) {
		s.t.Errorf("%q came back as %q", text, made["name"])
	}
	if made["name"] == nil { // some of it was refused: name and note alone
		ask("POST", loads, map[string]any{"name": fmt.Sprint("load ", i), "settings": map[string]any{"note": text}})
	}
	load := fmt.Sprintf("/loads/%d", s.load.ID)
	ask("POST", load+"/typed", map[string]any{"kind": "cup", "fields": map[string]string{text: text, "count": text}})
	ask("POST", load+"/typed", map[string]any{"kind": text, "fields": map[string]string{"a": "b"}})
	ask("POST", harvests+"/crew-links", map[string]any{"label": text})
	ask("POST", "/tokens", map[string]any{"label": text})
	ask("GET", loads+"?field="+url.QueryEscape(text)+"&text="+url.QueryEscape(text), nil)
	ask("POST", load+"/photos?file="+url.QueryEscape(text+".jpg"), "a photo")
	for path, fields := range map[string][]string{
		"/farms": {"name"}, "/harvests": {"farm", "name", "crop", "targets"}, "/harvests/" + fmt.Sprint(s.harvest.ID) + "/links": {"name", "days"},
		"/account/tokens": {"name", "days"}, load + "/cup": {"count", "litres", "cups"}, load + "/sieve": {"text", "top", "middle", "lower", "pan"},
		"/account/password": {"password", "new"}, load + "/edit": {"name", "field", "hybrid", "dm", "tloc", "gap", "process", "note", "version"},
	} {
		form := url.Values{}
		for _, f := range fields {
			form.Set(f, text)
		}
		if path == "/harvests" {
			form.Set("farm", fmt.Sprint(s.harvest.FarmID))
		}
		if status, body := s.post(path, form); status >= 500 {
			s.t.Errorf("POST %s with %q: %d %s", path, text, status, body)
		}
	}
}

func TestServeBoundsForms(t *testing.T) {
	s := newServed(t, nil)
	if status, body := s.post("/farms", url.Values{"name": {strings.Repeat("x", 2<<20)}}); status != http.StatusRequestEntityTooLarge || !strings.Contains(body, "at most 1 MB") {
		t.Errorf("a form of 2 MB: %d %s", status, body)
	}
	if status, _ := s.post("/sign-in", url.Values{"name": {"Ada"}, "password": {strings.Repeat("x", 20<<10)}}); status != http.StatusRequestEntityTooLarge {
		t.Errorf("a password of 20 KB: %d", status)
	}
	many := url.Values{}
	for i := range 30000 {
		many.Set(fmt.Sprint("f", i), "x")
	}
	if status, _ := s.post("/farms", many); status >= 500 || status == http.StatusOK {
		t.Errorf("a form of 30,000 fields: %d", status)
	}
	if status, body := s.post("/farms", url.Values{"name": {strings.Repeat("x", 3000)}}); status < 400 || status >= 500 {
		t.Errorf("a name of 3,000 letters: %d %s", status, body)
	}
	deep := strings.Repeat(`{"a":`, 200000)
	status, _, _ := s.do(s.request("POST", "/api/v1/farms", strings.NewReader(deep), "application/json"))
	if status < 400 || status >= 500 {
		t.Errorf("JSON nested 200,000 deep: %d", status)
	}
	huge := s.request("POST", fmt.Sprintf("/api/v1/loads/%d/photos", s.load.ID), io.LimitReader(zeroReader{}, 80<<20), "image/jpeg")
	status, body, _ := s.do(huge)
	if status != http.StatusRequestEntityTooLarge {
		t.Errorf("a photo of 80 MB: %d %s", status, body)
	}
	var left []string
	s.check(filepath.WalkDir(filepath.Join(s.dir, "photos"), func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			left = append(left, path)
		}
		return err
	}))
	if len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	long := s.request("GET", "/", nil, "")
	long.Header.Set("X-Long", strings.Repeat("x", 100<<10))
	if status, _, _ := s.do(long); status != http.StatusRequestHeaderFieldsTooLarge {
		t.Errorf("a header of 100 KB: %d", status)
	}
}

func TestServeForgedAndExpiredKeys(t *testing.T) {
	s := newServed(t, nil)
	forged := strings.Repeat("A", 43)
	for _, cookie := range []string{forged, "", "' OR 1=1 --", s.cookie + "x", strings.Repeat("x", 5000), s.token} {
		r, err := http.NewRequest("GET", s.url+"/", nil)
		s.check(err)
		r.Header.Set("Cookie", "gristmark="+cookie)
		if status, _, header := s.do(r); status != http.StatusSeeOther || !strings.HasPrefix(header.Get("Location"), "/sign-in") {
			t.Errorf("the cookie %.20q: %d %s", cookie, status, header.Get("Location"))
		}
	}
	for _, token := range []string{forged, s.cookie, s.token[:42], "null", "' OR 1=1 --"} {
		r, err := http.NewRequest("GET", s.url+"/api/v1/harvests", nil)
		s.check(err)
		r.Header.Set("Authorization", "Bearer "+token)
		if status, body, _ := s.do(r); status != http.StatusUnauthorized || !strings.Contains(body, "Nobody is signed in") {
			t.Errorf("the token %.20q: %d %s", token, status, body)
		}
	}
	link := func(path string) (int, string) {
		r, err := http.NewRequest("POST", s.url+path, strings.NewReader(url.Values{"name": {"Eve"}, "password": {testPassword}}.Encode()))
		s.check(err)
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		status, body, header := s.do(r)
		if len(header.Values("Set-Cookie")) > 0 && status >= 400 {
			t.Errorf("%s is refused and still signs in", path)
		}
		return status, body
	}
	for _, path := range []string{"/crew/" + forged, "/join/" + forged, "/crew/" + s.token, "/join/" + s.crew} {
		if status, body := link(path); status < 400 || status >= 500 || !strings.Contains(body, "ask for a new one") {
			t.Errorf("%.12s: %d %s", path, status, body)
		}
	}
	if status, _ := link("/crew/" + s.crew); status != http.StatusSeeOther {
		t.Errorf("the true crew link: %d", status)
	}
	s.late = 2 * time.Hour
	if status, _ := s.get("/"); status != http.StatusSeeOther {
		t.Errorf("an expired session: %d", status)
	}
	if status, body := link("/crew/" + s.crew); status < 400 || !strings.Contains(body, "expired") {
		t.Errorf("an expired crew link: %d %s", status, body)
	}
	r, err := http.NewRequest("GET", s.url+"/api/v1/harvests", nil)
	s.check(err)
	r.Header.Set("Authorization", "Bearer "+s.token)
	if status, _, _ := s.do(r); status != http.StatusUnauthorized {
		t.Errorf("an expired token: %d", status)
	}
}

func TestServeOtherSitesAndPrivateMetrics(t *testing.T) {
	s := newServed(t, nil)
	for _, header := range [][2]string{{"Origin", "https://evil.example"}, {"Sec-Fetch-Site", "cross-site"}, {"Origin", "null"}} {
		r := s.request("POST", "/farms", strings.NewReader("name=Stolen"), "application/x-www-form-urlencoded")
		r.Header.Set(header[0], header[1])
		if status, body, _ := s.do(r); status != http.StatusForbidden || !strings.Contains(body, "another site") {
			t.Errorf("%v: %d %s", header, status, body)
		}
	}
	farms, err := s.desk.Farms(t.Context())
	if err != nil || len(farms) != 1 {
		t.Errorf("%d farms, %v", len(farms), err)
	}
	r := s.request("GET", "/metrics", nil, "")
	r.Header.Set("X-Forwarded-For", "203.0.113.9")
	r.Header.Del("Cookie")
	if status, _, _ := s.do(r); status != http.StatusForbidden {
		t.Errorf("metrics through a proxy: %d", status)
	}
	r.Header.Set("Authorization", "Bearer "+s.token)
	if status, body, _ := s.do(r); status != http.StatusOK || !strings.Contains(body, "gristmark_photos") {
		t.Errorf("metrics of an adviser: %d", status)
	}
}

func TestServeSlowsDownGuessing(t *testing.T) {
	s := newServed(t, nil)
	var last int
	var body string
	for range 25 {
		last, body = s.post("/sign-in", url.Values{"name": {"Ada"}, "password": {"guess"}})
	}
	if last != http.StatusTooManyRequests || !strings.Contains(body, "Wait") {
		t.Errorf("the 25th guess: %d %s", last, body)
	}
	if status, _ := s.get("/"); status != http.StatusOK {
		t.Errorf("whoever is signed in: %d", status)
	}
}

// A thousand uploads that send next to nothing: the first are held, the others told to come again, and pages are served meanwhile.
func TestServeThousandSlowUploads(t *testing.T) {
	s := newServed(t, nil)
	head := fmt.Sprintf("POST /api/v1/loads/%d/photos HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\nContent-Type: image/jpeg\r\nContent-Length: 4000000\r\n\r\nsome", s.load.ID, s.token)
	var mu sync.Mutex
	answers := map[string]int{}
	var all sync.WaitGroup
	release := make(chan struct{})
	for range 1000 {
		c := s.peer()
		all.Go(func() {
			defer c.Close()
			_, _ = io.WriteString(c, head)
			_ = c.SetReadDeadline(time.Now().Add(20 * time.Second))
			line, err := bufio.NewReader(c).ReadString('\n')
			if err == nil {
				mu.Lock()
				answers[strings.Fields(line)[1]]++
				mu.Unlock()
				return
			}
			<-release
		})
	}
	deadline := time.Now().Add(15 * time.Second)
	for time.Now().Before(deadline) {
		mu.Lock()
		told := answers["503"] + answers["429"]
		mu.Unlock()
		if told >= 900 {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	if status, body := s.get("/"); status != http.StatusOK {
		t.Errorf("a page meanwhile: %d %s", status, body)
	}
	if status, body := s.get("/healthz"); status != http.StatusOK {
		t.Errorf("healthz meanwhile: %d %s", status, body)
	}
	close(release)
	mu.Lock()
	defer mu.Unlock()
	if answers["503"]+answers["429"] < 900 || answers["201"]+answers["500"] > 0 {
		t.Errorf("answers: %v", answers)
	}
}

// After all of it the data folder holds what the log made, and nothing is open to others on this machine.
func TestServeKeepsItsFilesToItself(t *testing.T) {
	s := newServed(t, nil)
	s.upload("a.jpg", []byte("photo"))
	s.photo("a.jpg")
	s.check(filepath.WalkDir(filepath.Join(s.dir, "photos"), func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.IsDir() {
			return err
		}
		info, err := os.Stat(path)
		if err == nil && info.Mode().Perm()&0o007 != 0 {
			t.Errorf("%s is open to everybody: %v", path, info.Mode())
		}
		return err
	}))
}

// While the photos have no place to go, the server says so to whoever watches over it.
func TestServeTellsThatItCannotServe(t *testing.T) {
	s := newServed(t, nil)
	photos := filepath.Join(s.dir, "photos")
	s.check(os.Rename(photos, photos+".gone"))
	if status, body := s.get("/healthz"); status != http.StatusServiceUnavailable || !strings.Contains(body, "folder of the photos") {
		t.Errorf("without a place for photos: %d %s", status, body)
	}
	s.check(os.Rename(photos+".gone", photos))
	if status, body := s.get("/healthz"); status != http.StatusOK {
		t.Errorf("with it again: %d %s", status, body)
	}
}
