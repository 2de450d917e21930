package season

import (
	"fmt"
	"testing"

	"gristmark/internal/result"
)

// seasonOf has loads of two gaps and three fields, the last field with one load; the gap of one load is not told.
func seasonOf() []Entry {
	var out []Entry
	for i := range 9 {
		gap := []float64{3, 1.5}[i%2]
		e := Entry{Name: fmt.Sprintf("load %d", i), Sample: &result.Sample{
			Kernels: &result.Kernels{Passing475Pct: &result.Estimate{Value: 50 + float64(i)}},
			Pieces:  &result.Pieces{GeometricMeanMM: &result.Estimate{Value: 12}},
		}}
		e.Settings.Field = []string{"Field 10", "Field 2", "Field 2", "Field 10"}[i%4]
		if i == 8 {
			e.Settings.Field = "Field 1"
		} else {
			e.Settings.RollGapMM = &gap
		}
		out = append(out, e)
	}
	return append(out, Entry{Name: "refused"})
}

func TestGroupsByFieldAndGap(t *testing.T) {
	passing := Figures(nil, nil)[0]
	fields := Settings(nil)[0].By(seasonOf(), passing, nil)
	var names []string
	for _, g := range fields {
		names = append(names, fmt.Sprintf("%s %d", g.Name, len(g.Values)))
	}
	if got := fmt.Sprint(names); got != "[Field 1 1 Field 2 4 Field 10 4]" {
		t.Errorf("fields %s", got)
	}
	gaps := Settings(nil)[3].By(seasonOf(), passing, nil)
	if len(gaps) != 2 || gaps[0].Name != "1.5" || gaps[1].Name != "3" || len(gaps[0].Values) != 4 {
		t.Errorf("gaps %+v", gaps)
	}
	// By hand: loads 1, 3, 5, 7 at 1.5 mm have 51, 53, 55, 57.
	if m := Median(gaps[0].Values); m != 54 {
		t.Errorf("median %g, want 54", m)
	}
}

func TestBoxesOnlyWhereGroupsCanBeHeldApart(t *testing.T) {
	var titles []string
	for _, b := range Boxes(nil, seasonOf(), nil) {
		titles = append(titles, b.Title)
	}
	want := "[Kernel mass through 4.75 mm by field Mean length of the stover by field Kernel mass through 4.75 mm by roll gap, mm Mean length of the stover by roll gap, mm]"
	if got := fmt.Sprint(titles); got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
	if list := Boxes(nil, seasonOf()[:2], nil); len(list) != 0 {
		t.Errorf("two loads are no comparison: %d charts", len(list))
	}
}

func TestManyGroupsAreThinned(t *testing.T) {
	var entries []Entry
	for i := range 60 {
		e := seasonOf()[0]
		e.Settings.Field = fmt.Sprintf("Field %d", i%20)
		entries = append(entries, e)
	}
	if b := Boxes(nil, entries, nil); len(b) == 0 || len(b[0].Groups) != mostGroups {
		t.Errorf("%d charts, or not %d groups", len(b), mostGroups)
	}
}
