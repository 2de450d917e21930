package api

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/pb33f/libopenapi"
	validator "github.com/pb33f/libopenapi-validator"

	"gristmark/internal/harvest"
)

// things are what the calls of the table speak of.
type things struct {
	*rig
	load  harvest.Load
	photo harvest.Photo
	spare harvest.Load // to delete
	gone  harvest.Photo
	typed harvest.Typed
	link  harvest.CrewLink
	token map[string]int64
	empty harvest.Harvest
}

// askers in the order of the columns of the table.
var askers = []string{"nobody", "stranger", "link", "reader", "crew", "adviser"}

// calls say for each documented operation how it is called and what each asker is answered.
var calls = map[string]struct {
	want string // statuses in the order of askers
	path func(*things) string
	body func(*things) string
}{
	"me":                {"401 200 200 200 200 200", fixed("/me"), nil},
	"list-farms":        {"401 200 200 200 200 200", fixed("/farms"), nil},
	"add-farm":          {"401 201 403 201 201 201", fixed("/farms"), text(`{"name":"New farm"}`)},
	"list-members":      {"401 404 403 200 200 200", func(x *things) string { return fmt.Sprintf("/farms/%d/members", x.farm.ID) }, nil},
	"set-role":          {"401 404 403 403 403 204", func(x *things) string { return fmt.Sprintf("/farms/%d/members/%d", x.farm.ID, x.id["spare"]) }, text(`{"role":"crew"}`)},
	"drop-member":       {"401 404 403 403 403 204", func(x *things) string { return fmt.Sprintf("/farms/%d/members/%d", x.farm.ID, x.id["spare"]) }, nil},
	"invite":            {"401 404 403 403 403 201", func(x *things) string { return fmt.Sprintf("/farms/%d/invitations", x.farm.ID) }, text(`{"role":"crew"}`)},
	"list-changes":      {"401 404 403 403 403 200", func(x *things) string { return fmt.Sprintf("/farms/%d/changes?limit=2", x.farm.ID) }, nil},
	"list-tokens":       {"401 200 403 200 200 200", fixed("/tokens"), nil},
	"add-token":         {"401 201 403 201 201 201", fixed("/tokens"), text(`{"label":"a script","hours":2}`)},
	"drop-token":        {"401 404 403 404 404 204", func(x *things) string { return fmt.Sprintf("/tokens/%d", x.token["adviser"]) }, nil},
	"list-harvests":     {"401 200 200 200 200 200", fixed("/harvests?limit=1"), nil},
	"add-harvest":       {"401 404 403 403 403 201", fixed("/harvests"), func(x *things) string { return fmt.Sprintf(`{"farm_id":%d,"name":"Another"}`, x.farm.ID) }},
	"get-harvest":       {"401 404 200 200 200 200", season(""), nil},
	"change-harvest":    {"401 404 403 403 403 200", season(""), text(`{"name":"Silage","targets":""}`)},
	"drop-harvest":      {"401 404 404 403 403 204", func(x *things) string { return fmt.Sprintf("/harvests/%d", x.empty.ID) }, nil},
	"last-settings":     {"401 404 200 200 200 200", season("/settings"), nil},
	"remeasure":         {"401 404 403 403 403 200", season("/remeasure"), nil},
	"list-loads":        {"401 404 200 200 200 200", season("/loads?limit=1&particles=true&from=2020-01-01T00:00:00Z"), nil},
	"add-load":          {"401 404 201 403 201 201", season("/loads"), text(`{"name":"Load","settings":{"field":"Long Acre","dm_pct":34.5,"tloc_mm":19}}`)},
	"get-load":          {"401 404 200 200 200 200", load(""), nil},
	"change-load":       {"401 404 200 403 200 200", load(""), func(x *things) string { return fmt.Sprintf(`{"name":"Renamed","version":%d}`, x.version()) }},
	"drop-load":         {"401 404 403 403 403 204", func(x *things) string { return fmt.Sprintf("/loads/%d", x.spare.ID) }, nil},
	"get-document":      {"401 404 200 200 200 200", load("/document"), nil},
	"list-corrections":  {"401 404 200 200 200 200", load("/corrections"), nil},
	"add-typed":         {"401 404 201 403 201 201", load("/typed"), text(`{"kind":"cup","fields":{"kernels":"3"}}`)},
	"drop-typed":        {"401 404 204 404 404 404", func(x *things) string { return fmt.Sprintf("/typed/%d", x.typed.ID) }, nil},
	"add-photo":         {"401 404 201 403 201 201", load("/photos?file=b.jpg"), text("\xff\xd8 another")},
	"get-photo":         {"401 404 200 200 200 200", photo(""), nil},
	"drop-photo":        {"401 404 403 403 403 204", func(x *things) string { return "/photos/" + x.gone.ID }, nil},
	"get-image":         {"401 404 200 200 200 200", photo("/image"), nil},
	"get-overlay":       {"401 404 200 200 200 200", photo("/overlay"), nil},
	"list-measurements": {"401 404 200 200 200 200", photo("/measurements"), nil},
	"correct":           {"401 404 200 403 200 200", photo("/particles/1"), text(`{"class":"stover"}`)},
	"uncorrect":         {"401 404 200 403 404 404", photo("/particles/1"), nil},
	"list-crew-links":   {"401 404 403 403 403 200", season("/crew-links"), nil},
	"add-crew-link":     {"401 404 403 403 403 201", season("/crew-links"), text(`{"label":"wagon two"}`)},
	"revoke-crew-link":  {"401 404 403 403 403 204", func(x *things) string { return fmt.Sprintf("/crew-links/%d", x.link.ID) }, nil},
	"results-csv":       {"401 404 200 200 200 200", season("/results.csv"), nil},
	"results-xlsx":      {"401 404 200 200 200 200", season("/results.xlsx"), nil},
	"documents":         {"401 404 200 200 200 200", season("/documents.zip"), nil},
	"season":            {"401 404 200 200 200 200", season("/season.pdf"), nil},
	"sheet":             {"401 404 200 200 200 200", load("/operator.pdf"), nil},
}

func fixed(path string) func(*things) string { return func(*things) string { return path } }
func text(body string) func(*things) string  { return fixed(body) }
func season(rest string) func(*things) string {
	return func(x *things) string { return fmt.Sprintf("/harvests/%d%s", x.season.ID, rest) }
}
func load(rest string) func(*things) string {
	return func(x *things) string { return fmt.Sprintf("/loads/%d%s", x.load.ID, rest) }
}
func photo(rest string) func(*things) string {
	return func(x *things) string { return "/photos/" + x.photo.ID + rest }
}

func (x *things) version() int64 {
	return must(x.desk.Load(x.t.Context(), x.load.ID))(x.t).Version
}

func newThings(t *testing.T) *things {
	x := &things{rig: newRig(t), token: map[string]int64{}}
	ctx := t.Context()
	x.load, x.photo = x.rig.load()
	x.spare, _ = x.rig.load()
	_, x.gone = x.rig.load()
	x.typed = must(x.desk.AddTyped(ctx, x.load.ID, harvest.TypedCup, map[string]string{"kernels": "2"}))(t)
	_, link, err := x.desk.AddCrewLink(ctx, x.season.ID, "spare", 1e12)
	check(t, err)
	x.link = link
	_, token, err := x.desk.AddToken(ctx, "spare", 1e12)
	check(t, err)
	x.token["adviser"] = token.ID
	x.empty = must(x.desk.AddHarvest(ctx, harvest.Harvest{FarmID: x.farm.ID, Name: "Empty"}))(t)
	return x
}

// operation is what the document says of one.
type operation struct {
	ID          string `json:"operationId"`
	Method      string
	RequestBody *struct {
		Content map[string]any `json:"content"`
	} `json:"requestBody"`
}

func operations(t *testing.T, doc []byte) []operation {
	t.Helper()
	var d struct {
		Paths map[string]map[string]operation `json:"paths"`
	}
	check(t, json.Unmarshal(doc, &d))
	var out []operation
	for _, item := range d.Paths {
		for method, op := range item {
			op.Method = strings.ToUpper(method)
			out = append(out, op)
		}
	}
	// What deletes comes last, and looking first.
	order := map[string]int{"GET": 0, "PUT": 1, "POST": 2, "DELETE": 3}
	slices.SortFunc(out, func(a, b operation) int {
		if order[a.Method] != order[b.Method] {
			return order[a.Method] - order[b.Method]
		}
		return strings.Compare(a.ID, b.ID)
	})
	return out
}

// Every operation of the document answers every asker as the table says and as the document describes.
func TestEveryOperationWithEveryAsker(t *testing.T) {
	x := newThings(t)
	status, doc, _ := x.do(x.as("nobody", "GET", "/openapi.json", nil))
	if status != http.StatusOK {
		t.Fatalf("the document: %d", status)
	}
	parsed, err := libopenapi.NewDocument([]byte(doc))
	check(t, err)
	v, errs := validator.NewValidator(parsed)
	if len(errs) > 0 {
		t.Fatal(errs)
	}
	if ok, faults := v.ValidateDocument(); !ok {
		t.Errorf("the document is no OpenAPI 3.1: %v", faults[0])
	}
	seen := map[string]bool{}
	for _, op := range operations(t, []byte(doc)) {
		call, known := calls[op.ID]
		if !known {
			t.Errorf("%s is documented and not tested", op.ID)
			continue
		}
		seen[op.ID] = true
		wants := strings.Fields(call.want)
		for i, asker := range askers {
			x.tryOne(v, op, call.path(x), call.body, asker, wants[i])
		}
	}
	for name := range calls {
		if !seen[name] {
			t.Errorf("%s is tested and not documented", name)
		}
	}
}

func (x *things) tryOne(v validator.Validator, op operation, path string, body func(*things) string, asker, want string) {
	t := x.t
	t.Helper()
	var send io.Reader
	if body != nil {
		send = strings.NewReader(body(x))
	}
	req := x.as(asker, op.Method, path, send)
	if op.ID == "add-photo" {
		req.Header.Set("Content-Type", "image/jpeg")
	}
	res, err := http.DefaultClient.Do(req)
	check(t, err)
	data, err := io.ReadAll(res.Body)
	check(t, err)
	res.Body.Close()
	if got := fmt.Sprint(res.StatusCode); got != want {
		t.Errorf("%s by %s: %s, want %s: %s", op.ID, asker, got, want, data)
		return
	}
	kind := res.Header.Get("Content-Type")
	if res.StatusCode >= 400 && kind != "application/problem+json" {
		t.Errorf("%s by %s: an error of type %q", op.ID, asker, kind)
	}
	if strings.Contains(kind, "json") || len(data) == 0 {
		res.Body = io.NopCloser(bytes.NewReader(data))
		if ok, faults := v.ValidateHttpResponse(x.as(asker, op.Method, path, nil), res); !ok {
			why, _ := json.Marshal(faults[0].SchemaValidationErrors)
			t.Errorf("%s by %s: the answer is not as documented: %s: %s: %s", op.ID, asker, faults[0].Message, why, data)
		}
	}
}

// What is not documented is not there, whoever asks.
func TestNothingBesideTheDocument(t *testing.T) {
	x := newRig(t)
	for _, path := range []string{"", "/", "/docs", "/schemas/Load.json", "/accounts", "/photos", "/photos/", "/loads", "/harvests/1/", "/farms/x", "/harvests/../../etc/passwd"} {
		if status, body, _ := x.do(x.as("nobody", "GET", path, nil)); status != http.StatusUnauthorized {
			t.Errorf("nobody at %q: %d %s", path, status, body)
		}
		status, body, _ := x.do(x.as("adviser", "GET", path, nil))
		if status != http.StatusNotFound && status != http.StatusUnprocessableEntity && status != http.StatusMethodNotAllowed {
			t.Errorf("adviser at %q: %d %s", path, status, body)
		}
	}
	status, _, header := x.do(x.as("adviser", "PATCH", "/harvests", nil))
	if status != http.StatusMethodNotAllowed || header["Allow"] == nil {
		t.Errorf("PATCH of a list: %d, allowed %v", status, header["Allow"])
	}
}
