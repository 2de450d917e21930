package web_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"gristmark/internal/harvest"
	"gristmark/internal/web"
	"gristmark/internal/web/webtest"
)

type whoKey struct{}

// handler are the pages without a door: who asks stands in the request's context.
func handler(t *testing.T, s *webtest.Site) http.Handler {
	t.Helper()
	h, err := web.New(web.Options{Log: s.Log, Version: "test",
		Who: func(r *http.Request) (harvest.Who, bool) {
			w, ok := r.Context().Value(whoKey{}).(harvest.Who)
			return w, ok
		},
		SignIn: func(w http.ResponseWriter, _ *http.Request, who harvest.Who) error {
			w.Header().Set("X-Signed-In", who.Name)
			return nil
		},
		SignOut: func(http.ResponseWriter, *http.Request) error { return nil }})
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// ask sends a request as who, nil for nobody; form nil is a GET.
func ask(h http.Handler, who *harvest.Who, path string, form url.Values) *httptest.ResponseRecorder {
	r := httptest.NewRequest(http.MethodGet, path, nil)
	if form != nil {
		r = httptest.NewRequest(http.MethodPost, path, strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	if who != nil {
		r = r.WithContext(context.WithValue(r.Context(), whoKey{}, *who))
	}
	w := httptest.NewRecorder()
	ctx, stop := context.WithTimeout(r.Context(), 5*time.Second)
	defer stop()
	h.ServeHTTP(w, r.WithContext(ctx))
	return w
}

// needs is the least role that a route asks for; routes that are not named need reader.
var needs = map[string]harvest.Role{
	"POST /farms/{farm}/invite": harvest.Adviser, "POST /farms/{farm}/members/{account}": harvest.Adviser,
	"POST /harvests": harvest.Adviser, "GET /harvests/new": harvest.Reader,
	"GET /harvests/{harvest}/edit": harvest.Adviser, "POST /harvests/{harvest}/edit": harvest.Adviser, "POST /harvests/{harvest}/drop": harvest.Adviser,
	"POST /harvests/{harvest}/remeasure": harvest.Adviser, "GET /harvests/{harvest}/links": harvest.Adviser, "POST /harvests/{harvest}/links": harvest.Adviser,
	"POST /harvests/{harvest}/links/{link}/revoke": harvest.Adviser,
	"GET /harvests/{harvest}/loads/new":            harvest.Crew, "POST /harvests/{harvest}/loads": harvest.Crew,
	"GET /loads/{load}/edit": harvest.Crew, "POST /loads/{load}/edit": harvest.Crew, "POST /loads/{load}/drop": harvest.Adviser,
	"POST /loads/{load}/photos": harvest.Crew, "POST /loads/{load}/remeasure": harvest.Crew, "POST /loads/{load}/sieve": harvest.Crew, "POST /loads/{load}/cup": harvest.Crew,
	"POST /loads/{load}/typed/{typed}/drop": harvest.Crew,
	"GET /photos/{photo}/original":          harvest.Adviser, "POST /photos/{photo}/drop": harvest.Adviser,
	"GET /photos/{photo}/pieces/{piece}": harvest.Crew, "POST /photos/{photo}/pieces/{piece}": harvest.Crew,
}

// own are routes that concern nobody but who asks.
var own = []string{"GET /{$}", "POST /farms", "GET /account", "POST /account/", "GET /harvests/new", "POST /harvests "}

func isOwn(route string) bool {
	for _, p := range own {
		if strings.HasPrefix(route+" ", p) {
			return true
		}
	}
	return false
}

// Every route is asked by everybody: without signing in it leads to the form, another farm's things are not there, and each role may do
// what it is for. What a refused request would have changed is still as it was.
func TestEveryRouteWithEveryRole(t *testing.T) {
	s := webtest.New(t, webtest.Options{})
	h := handler(t, s)
	data, err := webtest.Photo(webtest.Coarse)
	if err != nil {
		t.Fatal(err)
	}
	reader, crew, stranger := s.Member(t, "Reader", harvest.Reader), s.Member(t, "Crew member", harvest.Crew), s.Stranger(t)
	link := crewLink(t, s, s.Harvest.ID)
	other, err := s.Log.Desk(s.Adviser).AddHarvest(t.Context(), harvest.Harvest{FarmID: s.Farm.ID, Name: "Another bunker", Crop: "maize", Targets: s.Harvest.Targets})
	if err != nil {
		t.Fatal(err)
	}
	otherLink := crewLink(t, s, other.ID)
	l := s.Load(t, harvest.Load{Name: "Load 1", Settings: harvest.Settings{Show: "kernels"}}, data)
	typed, err := s.Log.Desk(s.Adviser).AddTyped(t.Context(), l.ID, harvest.TypedCup, map[string]string{"count": "3", "cups": "1", "litres": "0.946"})
	if err != nil {
		t.Fatal(err)
	}
	fill := strings.NewReplacer("{farm}", fmt.Sprint(s.Farm.ID), "{harvest}", fmt.Sprint(s.Harvest.ID), "{load}", fmt.Sprint(l.ID), "{photo}", l.Photos[0].ID,
		"{piece}", "1", "{typed}", fmt.Sprint(typed.ID), "{account}", fmt.Sprint(reader.AccountID), "{link}", fmt.Sprint(link.LinkID), "{token}", "999999", "{$}", "")
	rank := map[harvest.Role]int{harvest.Reader: 1, harvest.Crew: 2, harvest.Adviser: 3}
	routes := web.Routes()
	if len(routes) < 40 {
		t.Fatalf("only %d routes", len(routes))
	}
	for _, route := range routes {
		if strings.HasSuffix(route.Path, "/events") {
			continue // asked below: a stream does not end by itself
		}
		name, path := route.Method+" "+route.Path, fill.Replace(route.Path)
		var form url.Values
		if route.Method == http.MethodPost {
			form = url.Values{}
		}
		if code := ask(h, nil, path, form).Code; code != http.StatusSeeOther && code != http.StatusUnauthorized {
			t.Errorf("%s without signing in: %d", name, code)
		}
		if isOwn(name) {
			continue
		}
		for who, as := range map[string]harvest.Who{"a stranger": stranger, "a crew of another harvest": otherLink} {
			if code := ask(h, &as, path, form).Code; code != http.StatusNotFound && code != http.StatusForbidden {
				if who == "a crew of another harvest" && strings.HasPrefix(route.Path, "/farms/") && code == http.StatusOK {
					continue // the farm's name is on the phone anyway
				}
				t.Errorf("%s by %s: %d", name, who, code)
			}
		}
		need := needs[name]
		if need == "" {
			need = harvest.Reader
		}
		// The reader first: what the crew may drop is gone after it.
		for _, by := range []struct {
			role harvest.Role
			as   harvest.Who
		}{{harvest.Reader, reader}, {harvest.Crew, crew}} {
			code := ask(h, &by.as, path, form).Code
			if (code == http.StatusForbidden) != (rank[by.role] < rank[need]) {
				t.Errorf("%s by a %s: %d, the route needs %s", name, by.role, code, need)
			}
		}
	}
	after, err := s.Log.Desk(s.Adviser).Load(t.Context(), l.ID)
	if err != nil || len(after.Photos) != 1 {
		t.Errorf("after all refusals: %+v, %v", after, err)
	}
	for _, as := range []*harvest.Who{nil, &stranger, &otherLink} {
		if w := ask(h, as, fmt.Sprintf("/loads/%d/events", l.ID), nil); w.Code == http.StatusOK {
			t.Errorf("the events are open: %d", w.Code)
		}
	}
}

func crewLink(t *testing.T, s *webtest.Site, id int64) harvest.Who {
	t.Helper()
	token, _, err := s.Log.Desk(s.Adviser).AddCrewLink(t.Context(), id, "Crew", time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	who, err := s.Log.CrewLink(t.Context(), token)
	if err != nil {
		t.Fatal(err)
	}
	return who
}
