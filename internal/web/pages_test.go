package web_test

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"image/jpeg"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"gristmark/internal/harvest"
	"gristmark/internal/result"
	"gristmark/internal/web/webtest"
)

// photo reads a sample photo.
func photo(t *testing.T, name string) []byte {
	t.Helper()
	data, err := webtest.Photo(name)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// send posts a form with photos.
func send(h http.Handler, who harvest.Who, path string, fields map[string]string, accept string, photos ...[]byte) *httptest.ResponseRecorder {
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for name, value := range fields {
		_ = m.WriteField(name, value)
	}
	for i, data := range photos {
		w, _ := m.CreateFormFile("photo", fmt.Sprintf("IMG_%d.jpg", i))
		_, _ = w.Write(data)
	}
	_ = m.Close()
	r := httptest.NewRequest(http.MethodPost, path, &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	r.Header.Set("Accept", accept)
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), whoKey{}, who)))
	return w
}

// nasty is what somebody might type into any field.
const nasty = `"><script>alert(1)</script>{{.}}${7*7}' OR 1=1 --`

// Whatever is typed comes back as text: in every page, in no page as markup.
func TestWhatPeopleTypeIsText(t *testing.T) {
	s := webtest.New(t, webtest.Options{})
	h := handler(t, s)
	desk := s.Log.Desk(s.Adviser)
	farm, err := desk.AddFarm(t.Context(), "F"+nasty)
	if err != nil {
		t.Fatal(err)
	}
	hv, err := desk.AddHarvest(t.Context(), harvest.Harvest{FarmID: farm.ID, Name: "H" + nasty, Crop: nasty, Targets: s.Harvest.Targets})
	if err != nil {
		t.Fatal(err)
	}
	w := send(h, s.Adviser, fmt.Sprintf("/harvests/%d/loads", hv.ID), map[string]string{"name": "L" + nasty, "field": nasty, "hybrid": nasty, "note": nasty, "show": "kernels"}, "application/json", photo(t, webtest.Coarse))
	var got struct{ Load int64 }
	if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil || got.Load == 0 {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	l := s.Wait(t, got.Load)
	pages := []string{"/", fmt.Sprintf("/farms/%d", farm.ID), fmt.Sprintf("/harvests/%d", hv.ID), fmt.Sprintf("/harvests/%d?text=%s", hv.ID, url.QueryEscape(nasty)),
		fmt.Sprintf("/harvests/%d/compare?a=%d&bfield=%s", hv.ID, l.ID, url.QueryEscape(nasty)), fmt.Sprintf("/harvests/%d/edit", hv.ID), fmt.Sprintf("/harvests/%d/loads/new", hv.ID), fmt.Sprintf("/loads/%d", l.ID),
		fmt.Sprintf("/loads/%d/edit", l.ID), "/photos/" + l.Photos[0].ID, "/photos/" + l.Photos[0].ID + "/pieces/1", "/sign-in?next=" + url.QueryEscape(nasty)}
	shown := 0
	for _, path := range pages {
		who := &s.Adviser
		if strings.HasPrefix(path, "/sign-in") {
			who = nil
		}
		body := ask(h, who, path, nil).Body.String()
		if strings.Contains(body, "<script>alert") || strings.Contains(body, "$49") {
			t.Errorf("%s holds what was typed as markup", path)
		}
		if strings.Contains(body, "style=") || strings.Contains(body, "javascript:") {
			t.Errorf("%s has a style or script of its own: the policy of the door forbids it", path)
		}
		if strings.Contains(body, "&lt;script&gt;alert") {
			shown++
		}
	}
	if shown < len(pages)-1 {
		t.Errorf("only %d of %d pages show what was typed: the test sees too little", shown, len(pages))
	}
}

// A form that comes twice under one key makes one load with one photo, also where another form came between.
func TestAFormThatComesTwiceCountsOnce(t *testing.T) {
	s := webtest.New(t, webtest.Options{})
	h := handler(t, s)
	path := fmt.Sprintf("/harvests/%d/loads", s.Harvest.ID)
	first := map[string]string{"key": "k1", "name": "Load 1", "show": "kernels"}
	var loads []int64
	for i := range 3 {
		form := first
		if i == 1 {
			form = map[string]string{"key": "k2", "name": "Load 2"}
		}
		var got struct {
			Load   int64
			Photos []struct{ Again bool }
		}
		w := send(h, s.Adviser, path, form, "application/json", photo(t, webtest.Coarse))
		if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil || w.Code != http.StatusCreated || len(got.Photos) != 1 || got.Photos[0].Again != (i == 2) {
			t.Fatalf("%d: %d %s", i, w.Code, w.Body)
		}
		loads = append(loads, got.Load)
	}
	if loads[0] != loads[2] || loads[0] == loads[1] {
		t.Errorf("loads %v: want the third form to have made none", loads)
	}
	all, err := s.Log.Desk(s.Adviser).Loads(t.Context(), s.Harvest.ID, harvest.Filter{})
	if err != nil || len(all) != 2 {
		t.Errorf("%d loads, %v", len(all), err)
	}
}

// A form that is cut off within its first photo leaves no load behind.
func TestAFormCutOffLeavesNothing(t *testing.T) {
	s := webtest.New(t, webtest.Options{})
	h := handler(t, s)
	body := "--b\r\nContent-Disposition: form-data; name=\"name\"\r\n\r\nLoad 1\r\n--b\r\nContent-Disposition: form-data; name=\"photo\"; filename=\"a.jpg\"\r\n\r\nhalf a pho"
	r := httptest.NewRequest(http.MethodPost, fmt.Sprintf("/harvests/%d/loads", s.Harvest.ID), strings.NewReader(body))
	r.Header.Set("Content-Type", "multipart/form-data; boundary=b")
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), whoKey{}, s.Adviser)))
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "did not arrive whole") {
		t.Errorf("%d %.300s", w.Code, w.Body)
	}
	if all, err := s.Log.Desk(s.Adviser).Loads(t.Context(), s.Harvest.ID, harvest.Filter{}); err != nil || len(all) != 0 {
		t.Errorf("%d loads are left, %v", len(all), err)
	}
}

// withPlace puts an EXIF segment with a place into a JPEG.
func withPlace(data []byte) []byte {
	exif := append([]byte{0xff, 0xe1, 0, 0}, []byte("Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x00\x00\x00\x00\x00 GPS 48.2083 16.3731")...)
	exif[3] = byte(len(exif) - 2)
	return bytes.Join([][]byte{data[:2], exif, data[2:]}, nil)
}

// No picture that is served tells where it was taken; the original goes to advisers alone.
func TestServedPhotosTellNoPlace(t *testing.T) {
	s := webtest.New(t, webtest.Options{})
	h := handler(t, s)
	l := s.Load(t, harvest.Load{Name: "Load 1", Settings: harvest.Settings{Show: "kernels"}}, withPlace(photo(t, webtest.NoCard)), photo(t, webtest.Coarse))
	for _, p := range l.Photos {
		for _, kind := range []string{"small.jpg", "overlay.jpg", "original"} {
			w := ask(h, &s.Adviser, "/photos/"+p.ID+"/"+kind, nil)
			if w.Code != http.StatusOK || bytes.Contains(w.Body.Bytes(), []byte("GPS")) {
				t.Errorf("%s of %s: %d, %d bytes", kind, p.File, w.Code, w.Body.Len())
			}
			if !strings.Contains(w.Header().Get("Cache-Control"), "private") || w.Header().Get("Content-Type") != "image/jpeg" {
				t.Errorf("%s: headers %v", kind, w.Header())
			}
			m, err := jpeg.Decode(w.Body)
			if err != nil {
				t.Errorf("%s is no picture: %v", kind, err)
			} else if kind == "small.jpg" && m.Bounds().Dx() > 640 {
				t.Errorf("the small picture is %v", m.Bounds())
			}
		}
	}
	if w := ask(h, &s.Adviser, "/photos/AAAAAAAAAAAAAAAAAAAAAAAAAA/small.jpg", nil); w.Code != http.StatusNotFound {
		t.Errorf("a guessed photo: %d", w.Code)
	}
}

// The exports open and hold the loads: CSV, XLSX, the documents, and both papers.
func TestExports(t *testing.T) {
	s := webtest.New(t, webtest.Options{})
	h := handler(t, s)
	gap := 3.0
	for i, name := range []string{webtest.Coarse, webtest.Fine} {
		s.Load(t, harvest.Load{Name: fmt.Sprintf("Load %d", i+1), Settings: harvest.Settings{Show: "kernels", RollGapMM: &gap}}, photo(t, name))
	}
	l := s.Load(t, harvest.Load{Name: "Load 3", Settings: harvest.Settings{Show: "kernels"}}, photo(t, webtest.Blurred))
	base := fmt.Sprintf("/harvests/%d/", s.Harvest.ID)
	get := func(path string) []byte {
		t.Helper()
		w := ask(h, &s.Adviser, path, nil)
		if w.Code != http.StatusOK {
			t.Fatalf("%s: %d %.300s", path, w.Code, w.Body)
		}
		return w.Body.Bytes()
	}
	rows, err := csv.NewReader(bytes.NewReader(get(base + "results.csv"))).ReadAll()
	if err != nil || len(rows) != 1+3+3 {
		t.Errorf("results.csv: %d rows, %v", len(rows), err)
	}
	if some, err := csv.NewReader(bytes.NewReader(get(base + "results.csv?text=Load+2"))).ReadAll(); err != nil || len(some) != 1+2 {
		t.Errorf("results.csv with a filter: %d rows, %v", len(some), err)
	}
	book, err := excelize.OpenReader(bytes.NewReader(get(base + "results.xlsx")))
	if err != nil {
		t.Fatal(err)
	}
	if pieces, err := book.GetRows("particles"); err != nil || len(pieces) < 200 {
		t.Errorf("results.xlsx: %d rows of pieces, %v", len(pieces), err)
	}
	data := get(base + "documents.zip")
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil || len(z.File) != 3 {
		t.Fatalf("documents.zip: %v", err)
	}
	f, err := z.File[0].Open()
	if err != nil {
		t.Fatal(err)
	}
	var doc result.Document
	if err := json.NewDecoder(f).Decode(&doc); err != nil || doc.Schema != result.Schema || doc.Photos[0].File != "IMG_1.jpg" {
		t.Errorf("a document of the archive: %v, %+v", err, doc.Schema)
	}
	for _, path := range []string{base + "season.pdf", base + "season.pdf?paper=letter", fmt.Sprintf("/loads/%d/operator.pdf", l.ID-1)} {
		if !bytes.HasPrefix(get(path), []byte("%PDF-")) {
			t.Errorf("%s is no PDF", path)
		}
	}
	if w := ask(h, &s.Adviser, fmt.Sprintf("/loads/%d/operator.pdf", l.ID), nil); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("the paper of a load without a measured photo: %d", w.Code)
	}
}

// What is measured again stands beside what was measured before.
func TestMeasuredBeforeStaysToBeSeen(t *testing.T) {
	s := webtest.New(t, webtest.Options{})
	h := handler(t, s)
	l := s.Load(t, harvest.Load{Name: "Load 1", Settings: harvest.Settings{Show: "kernels"}}, photo(t, webtest.Coarse))
	page := "/photos/" + l.Photos[0].ID
	if body := ask(h, &s.Adviser, page, nil).Body.String(); strings.Contains(body, "Measured before") {
		t.Error("a photo measured once shows an earlier measuring")
	}
	if w := ask(h, &s.Adviser, fmt.Sprintf("/loads/%d/remeasure", l.ID), url.Values{}); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, w.Body)
	}
	l = s.Wait(t, l.ID)
	count := map[result.Class]int{}
	for _, p := range l.Photos[0].Result.Particles {
		count[p.Class]++
	}
	want := fmt.Sprintf("%d whole, %d broken kernels", count[result.WholeKernel], count[result.BrokenKernel])
	if body := ask(h, &s.Adviser, page, nil).Body.String(); count[result.BrokenKernel] == 0 || !strings.Contains(body, "Measured before") || !strings.Contains(body, want) {
		t.Errorf("the earlier measuring is not shown, with %s", want)
	}
}

// What was typed wrong is refused with a sentence, and the form keeps what was typed.
func TestFormsAreRefusedWithASentence(t *testing.T) {
	s := webtest.New(t, webtest.Options{})
	h := handler(t, s)
	l := s.Load(t, harvest.Load{Name: "Load 1"})
	load := fmt.Sprintf("/loads/%d", l.ID)
	for _, c := range []struct {
		path string
		form url.Values
		code int
		says string
	}{
		{load + "/edit", url.Values{"version": {"1"}, "name": {"Load 1"}, "tloc": {"190"}}, 422, "out of what there is"},
		{load + "/edit", url.Values{"version": {"1"}, "name": {"Load 1"}, "dm": {"dry"}}, 422, "is no number"},
		{load + "/edit", url.Values{"version": {"77"}, "name": {"Load 9"}}, 409, "Somebody changed this load"},
		{load + "/sieve", url.Values{"top": {"12"}, "middle": {"340"}, "lower": {"120"}}, 422, "Weigh all four"},
		{load + "/sieve", url.Values{"top": {"12"}, "middle": {"340"}, "lower": {"120"}, "pan": {"28"}, "put_in": {"800"}}, 422, "missing"},
		{load + "/sieve", url.Values{"top": {"twelve"}, "middle": {"340"}, "lower": {"120"}, "pan": {"28"}}, 422, "twelve"},
		{load + "/cup", url.Values{"count": {"-3"}, "cups": {"1"}, "litres": {"0.946"}}, 422, "count"},
		{load + "/cup", url.Values{"count": {"3"}, "cups": {"0"}, "litres": {"0.946"}}, 422, "cup"},
		{fmt.Sprintf("/harvests/%d/links", s.Harvest.ID), url.Values{"label": {"Crew"}, "days": {"1e9"}}, 422, "number of days"},
		{"/account/password", url.Values{"old": {"wrong one of mine"}, "new": {"another stack of bunkers"}}, 401, "password"},
		{load + "/photos", url.Values{}, 422, "photo"},
	} {
		w := ask(h, &s.Adviser, c.path, c.form)
		if w.Code != c.code || !strings.Contains(w.Body.String(), c.says) {
			t.Errorf("%s %v: %d, want %d and %q in %q", c.path, c.form, w.Code, c.code, c.says, between(w.Body.String(), `role="alert"`, "</p>"))
		}
	}
	if body := ask(h, &s.Adviser, load+"/edit", url.Values{"version": {"1"}, "name": {"Load 1"}, "field": {"Mill hill"}, "tloc": {"190"}}).Body.String(); !strings.Contains(body, `value="Mill hill"`) {
		t.Error("the form lost what was typed")
	}
}

func between(s, from, to string) string {
	_, s, _ = strings.Cut(s, from)
	s, _, _ = strings.Cut(s, to)
	return s
}

// Signing in leads on to pages of this server alone, and says nothing of which part was wrong.
func TestSignInLeadsToOwnPagesAlone(t *testing.T) {
	s := webtest.New(t, webtest.Options{})
	h := handler(t, s)
	for next, want := range map[string]string{"/harvests/1": "/harvests/1", "//evil.example/": "/", "https://evil.example/": "/", `/\evil.example`: "/", "": "/"} {
		w := ask(h, nil, "/sign-in", url.Values{"name": {webtest.Name}, "password": {webtest.Password}, "next": {next}})
		if w.Code != http.StatusSeeOther || w.Header().Get("Location") != want || w.Header().Get("X-Signed-In") == "" {
			t.Errorf("next %q leads to %q with %d", next, w.Header().Get("Location"), w.Code)
		}
	}
	unknown := ask(h, nil, "/sign-in", url.Values{"name": {"Nobody"}, "password": {"x"}})
	wrong := ask(h, nil, "/sign-in", url.Values{"name": {webtest.Name}, "password": {"x"}})
	if unknown.Code != http.StatusUnauthorized || between(unknown.Body.String(), `role="alert"`, "</p>") != between(wrong.Body.String(), `role="alert"`, "</p>") {
		t.Errorf("an unknown name is told apart: %d %d", unknown.Code, wrong.Code)
	}
	if w := ask(h, nil, "/join/"+strings.Repeat("A", 43), nil); w.Code != http.StatusGone {
		t.Errorf("a forged invitation: %d", w.Code)
	}
	if w := ask(h, nil, "/crew/"+strings.Repeat("A", 43), url.Values{}); w.Code != http.StatusGone {
		t.Errorf("a forged crew link: %d", w.Code)
	}
}

// The stream of a load's events wakes when a photo comes, and ends with the server.
func TestEventsWakeWhenAPhotoComes(t *testing.T) {
	s := webtest.New(t, webtest.Options{})
	l := s.Load(t, harvest.Load{Name: "Load 1", Settings: harvest.Settings{Show: "kernels"}})
	token, err := s.Log.StartSession(t.Context(), s.Adviser, time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	r, _ := http.NewRequestWithContext(t.Context(), http.MethodGet, fmt.Sprintf("%s/loads/%d/events", s.Server.URL, l.ID), nil)
	r.AddCookie(&http.Cookie{Name: "gristmark", Value: token})
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	if kind := answer.Header.Get("Content-Type"); kind != "text/event-stream" {
		t.Fatalf("%d %s", answer.StatusCode, kind)
	}
	events := make(chan string, 64)
	go func() {
		buf := make([]byte, 512)
		for {
			n, err := answer.Body.Read(buf)
			if err != nil {
				close(events)
				return
			}
			events <- string(buf[:n])
		}
	}()
	wait := func(what string) {
		t.Helper()
		select {
		case e := <-events:
			if !strings.Contains(e, "event: change") {
				t.Fatalf("%s: %q", what, e)
			}
		case <-time.After(20 * time.Second):
			t.Fatal(what + ": no event")
		}
	}
	wait("at first")
	if _, _, err := s.Log.Desk(s.Adviser).Upload(t.Context(), l.ID, "", "a.jpg", bytes.NewReader(photo(t, webtest.Coarse)), 0); err != nil {
		t.Fatal(err)
	}
	wait("after a photo")
}

// What is served as a file keeps its address only as long as it is the same.
func TestFilesAreKeptByTheirStamp(t *testing.T) {
	s := webtest.New(t, webtest.Options{})
	h := handler(t, s)
	body := ask(h, nil, "/sign-in", nil).Body.String()
	path := between(body, `rel="stylesheet" href="`, `"`)
	if w := ask(h, nil, path, nil); w.Code != 200 || !strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
		t.Errorf("%s: %d %v", path, w.Code, w.Header())
	}
	if w := ask(h, nil, "/static/app.css?v=old", nil); strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
		t.Error("a file under an old stamp is kept for ever")
	}
	for _, bad := range []string{"/static/../web.go", "/static/", "/static/%2e%2e%2fweb.go", "/nothing"} {
		if w := ask(h, &s.Adviser, bad, nil); w.Code == http.StatusOK {
			t.Errorf("%s: %d", bad, w.Code)
		}
	}
	worker := ask(h, nil, "/sw.js", nil)
	if !strings.Contains(worker.Body.String(), path) || !strings.HasPrefix(worker.Header().Get("Content-Type"), "text/javascript") {
		t.Error("the service worker does not know the files")
	}
}
