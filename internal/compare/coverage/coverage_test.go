package coverage

import (
	"strings"
	"testing"
)

// Exact intervals hold at least 95 % at every point, approximate ones 93 to 97 averaged over a grid, those over photos and shakes
// 90 to 98 from two up, of 500 draws with fixed seeds. A corrected score may hold up to 99: its stated errors are known.
func TestTable(t *testing.T) {
	rows := Table(500)
	var b strings.Builder
	if err := Print(&b, rows); err != nil {
		t.Fatal(err)
	}
	t.Log("\n" + b.String())
	for _, r := range rows {
		if !r.OK() {
			t.Errorf("%s over %s: %.1f %%, least %.1f %%", r.Name, r.Over, r.Average, r.Least)
		}
	}
}

// The same down to the pieces of photos, with fewer draws: 60 draws leave 95 % uncertain by some 6 points, so 88 % must hold; the
// table of the command has 500.
func TestPhotographed(t *testing.T) {
	rows, err := Photographed(60, 2, 3)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rows {
		t.Logf("%s, %s: %.1f %%", r.Name, r.Over, r.Average)
		if r.Average < 88 {
			t.Errorf("%s, %s: %.1f %%", r.Name, r.Over, r.Average)
		}
	}
}

// The table can fail: an interval that is too narrow, or too wide on average, is marked.
func TestOK(t *testing.T) {
	for _, r := range []Row{{Average: 88, Low: 90, High: 98}, {Average: 99.5, Low: 90, High: 98}, {Average: 99, Least: 94, Low: 95, High: 100, ByLeast: true}} {
		if r.OK() {
			t.Errorf("%+v passes", r)
		}
	}
}
