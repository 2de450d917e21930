package season

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gristmark/internal/result"
)

func order(entries ...Entry) string {
	Sort(entries)
	var names []string
	for _, e := range entries {
		names = append(names, e.Name)
	}
	return strings.Join(names, " ")
}

func TestSort(t *testing.T) {
	some := &result.Sample{}
	a := Entry{Name: "load10", Taken: "2026-09-12T08:00:00Z", Sample: some}
	b := Entry{Name: "load2", Taken: "2026-09-12T09:00:00Z", Sample: some}
	refused := Entry{Name: "load1"}
	untimed := Entry{Name: "load3", Sample: some}
	for want, got := range map[string]string{
		"load10 load2 load1":       order(refused, b, a),
		"load1 load2 load3 load10": order(a, untimed, b, refused),
	} {
		if got != want {
			t.Errorf("order %s, want %s", got, want)
		}
	}
}

// The order of names is one: turned about it turns its sign, and only equal names are equal.
func TestNaturalIsAnOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.StringMatching(`[a0-2]{0,5}`)
		a, b, c := name.Draw(t, "a"), name.Draw(t, "b"), name.Draw(t, "c")
		if natural(a, b) != -natural(b, a) || (natural(a, b) == 0) != (a == b) {
			t.Fatalf("%q and %q: %d and %d", a, b, natural(a, b), natural(b, a))
		}
		if natural(a, b) < 0 && natural(b, c) < 0 && natural(a, c) >= 0 {
			t.Fatalf("%q < %q < %q, but not %q < %q", a, b, c, a, c)
		}
	})
}

func TestEntryOf(t *testing.T) {
	early, late := "2026-09-12T08:00:00Z", "2026-09-12T09:00:00Z"
	e := EntryOf("x", result.Document{Photos: []result.Photo{{Status: result.Measured, TakenAt: &late}, {Status: result.Measured, TakenAt: &early}, {Status: result.Refused}}})
	if e.Taken != early || e.Photos != 3 || e.Refused != 1 {
		t.Errorf("%+v", e)
	}
}
