package harvestfile

import (
	"strings"
	"testing"
	"unicode/utf16"

	"pgregory.net/rapid"

	"gristmark/internal/result"
)

const harvest = `load,taken_at,farm,field,hybrid,dm_pct,tloc_mm,roll_gap_mm,process,state,photos,box,note
1,2026-09-17T09:12:00+02:00,Varnebrook,Long Acre,yellow dent,34.1,19,3.0,Conventional,Fresh,gap-3.0,boxes/gap-3.0.csv,"dry, windy"

7,,,,,36 %,17 mm,,,,,,
`

func TestLoads(t *testing.T) {
	loads, err := Loads("harvest.csv", []byte(harvest))
	if err != nil || len(loads) != 2 {
		t.Fatalf("%+v, %v", loads, err)
	}
	a, b := loads[0], loads[1]
	s := a.Settings
	if a.Line != 2 || a.Sample != "gap-3.0" || s.Load != "1" || s.Field != "Long Acre" || *s.DMPct != 34.1 || *s.RollGapMM != 3 || s.Process != "conventional" || s.State != "fresh" || s.Note != "dry, windy" {
		t.Errorf("%+v", a)
	}
	if b.Line != 4 || b.Sample != "7" || *b.Settings.DMPct != 36 || *b.Settings.TLOCMM != 17 || b.Settings.RollGapMM != nil {
		t.Errorf("%+v", b)
	}
}

// A table as spreadsheets in other languages save it says the same.
func TestLoadsFromOtherSpreadsheets(t *testing.T) {
	comma := "load;dm_pct;field\r\n7;34,5;Grünland\r\n"
	units := utf16.Encode([]rune(comma))
	wide := []byte{0xFF, 0xFE}
	for _, u := range units {
		wide = append(wide, byte(u), byte(u>>8))
	}
	for name, data := range map[string][]byte{
		"semicolons":     []byte(comma),
		"UTF-8 mark":     append([]byte("\xEF\xBB\xBF"), comma...),
		"UTF-16":         wide,
		"one byte":       []byte(strings.ReplaceAll(comma, "ü", "\xFC")),
		"tabs":           []byte("Load\tDM pct\tField\n7\t34.5\tGrünland\n"),
		"comments first": []byte("# the morning\nload,field,dm_pct\n7,Grünland,34.5\n"),
	} {
		loads, err := Loads("h", data)
		if err != nil || len(loads) != 1 || *loads[0].Settings.DMPct != 34.5 || loads[0].Settings.Field != "Grünland" {
			t.Errorf("%s: %+v, %v", name, loads, err)
		}
	}
}

// Each fault is one sentence with its line.
func TestFaultsOfLoads(t *testing.T) {
	for table, want := range map[string]string{
		"load,dm_pct\n1,0.34\n":                  `h line 2: dm_pct: the dry matter is 0.34 %; it must lie between 5 and 95: check the unit`,
		"load,tloc_mm\n1,0.75 in\n":              `h line 2: tloc_mm: "0.75 in" is in the wrong unit; write it in mm, 19.05`,
		"load,tloc_mm\n\n1,19 furlongs\n":        `h line 3: tloc_mm: "19 furlongs" is in the wrong unit; write it in mm`,
		"load,tloc_mm\n1,wide\n":                 `h line 2: tloc_mm: "wide" is not a number`,
		"load,tloc_in\n1,0.75\n":                 `h line 1: the column "tloc_in" is unknown; the length of cut goes into tloc_mm, in mm`,
		"load,feild\n1,a\n":                      `h line 1: the column "feild" is unknown; did you mean field?`,
		"load,weather\n1,a\n":                    `h line 1: the column "weather" is unknown; there are load, taken_at, farm, field, hybrid, process, state, dm_pct, tloc_mm, roll_gap_mm, speed_diff_pct, knife_hours, throughput_tph, note, photos, box`,
		"load,load\n1,1\n":                       `h line 1: the column load stands there twice`,
		"field\na\n":                             `h line 1: there is no column load; it names each load`,
		"load,field\n1,a\n2,b\n1,c\n":            `h line 4: load "1" stands there twice, on line 2 too`,
		"load,photos\n1,a\n2,./a/\n":             `h line 3: the photos "a" stand there twice, on line 2 too`,
		"load,photos\n1,gap\ngap,\n":             `h line 3: the photos "gap" stand there twice, on line 2 too`,
		"load,state\n1,dry\n":                    `h line 2: state: the state "dry" is unknown; use fresh or fermented`,
		"load,process\n1,fast\n":                 `h line 2: process: the process "fast" is unknown; use conventional, shredding or unprocessed`,
		"load,taken_at\n1,noon\n":                `h line 2: taken_at: "noon" is no time; write 2026-09-17T09:12:00+02:00, 2026-09-17 09:12 or 2026-09-17`,
		"load,field\n,a\n":                       `h line 2: the load is empty; name it, or take the line out`,
		"load,dm_pct\n1,34,5\n":                  `h line 2: "5" stands under no column; with decimal commas put ; between the cells, and a text with a comma into quotation marks`,
		"":                                       `h is empty; its first line names the columns`,
		"PK\x03\x04":                             `h is a workbook; save it as CSV`,
		"a\x00b":                                 `h is no text; save the table as CSV`,
		"load,dm_pct,roll_gap_mm\n1,1,30\n2,1,1": "h line 2: dm_pct: the dry matter is 1 %; it must lie between 5 and 95: check the unit\nh line 2: roll_gap_mm: the roll gap is 30 mm; it must lie between 0 and 20: check the unit\nh line 3: dm_pct: the dry matter is 1 %; it must lie between 5 and 95: check the unit",
	} {
		if _, err := Loads("h", []byte(table)); err == nil || err.Error() != want {
			t.Errorf("%q:\n got %v\nwant %s", table, err, want)
		}
	}
}

func TestManyFaultsAreCutShort(t *testing.T) {
	_, err := Loads("h", []byte("load,dm_pct\n"+strings.Repeat("1,34\n", 30)))
	if err == nil || !strings.HasSuffix(err.Error(), "\nand 19 more faults") {
		t.Error(err)
	}
}

// Nothing that a file may hold makes reading fail other than with faults.
func TestAnyBytes(t *testing.T) {
	words := []string{"load", "photo", "sample", "dm_pct", ";", ",", "\t", "\n", "\"", "#", "7", "3.4", " mm", "a", "'", "\xff", "\x00", "\xff\xfe"}
	rapid.Check(t, func(t *rapid.T) {
		data := []byte(strings.Join(rapid.SliceOfN(rapid.SampledFrom(words), 0, 40).Draw(t, "table"), ""))
		for _, err := range []error{second(Loads("h", data)), second(Photos("h", data))} {
			if _, ok := err.(Faults); err != nil && !ok {
				t.Fatalf("%q: %v", data, err)
			}
		}
	})
}

func second[T any](_ T, err error) error { return err }

// What one tells and the other does not is kept; what both tell is that of the nearer.
func TestOver(t *testing.T) {
	near, far := 1.0, 2.0
	got := result.Settings{Field: "a", DMPct: &near}.Over(result.Settings{Field: "b", Hybrid: "c", DMPct: &far, TLOCMM: &far})
	if got.Field != "a" || got.Hybrid != "c" || *got.DMPct != 1 || *got.TLOCMM != 2 || got.IsZero() || !(result.Settings{}).IsZero() {
		t.Errorf("%+v", got)
	}
}

func TestContextAndBack(t *testing.T) {
	loads, err := Loads("h", []byte("load,dm_pct,tloc_mm,roll_gap_mm,speed_diff_pct,knife_hours,throughput_tph,process,state\n1,30,19,2,40,5,120,shredding,fresh\n"))
	if err != nil {
		t.Fatal(err)
	}
	s := loads[0].Settings
	s.Load = ""
	if back := FromContext(Context(s)); back != s {
		t.Errorf("%+v, then %+v", s, back)
	}
}

func TestTimesSort(t *testing.T) {
	for told, want := range map[string]string{
		"2026-09-17T09:12:00+02:00": "2026-09-17T09:12:00+02:00", "2026-09-17T09:12:00Z": "2026-09-17T09:12:00Z", "2026-09-17 09:12": "2026-09-17T09:12:00",
		"2026-09-17T09:12": "2026-09-17T09:12:00", "2026-09-17 09:12:30": "2026-09-17T09:12:30", "2026-09-17": "2026-09-17",
	} {
		var s result.Settings
		if err := Set(&s, "taken_at", told); err != nil || s.TakenAt != want {
			t.Errorf("%s: %s, %v", told, s.TakenAt, err)
		}
	}
}
