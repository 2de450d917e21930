package pipeline

import (
	"fmt"
	"strings"
	"testing"

	"gristmark/internal/harvestfile"
	"gristmark/internal/result"
)

// grouped lists samples with their photos.
func grouped(list []Batch) string {
	var out []string
	for _, b := range list {
		out = append(out, fmt.Sprint(b.Name, b.Photos))
	}
	return strings.Join(out, " ")
}

func TestByTable(t *testing.T) {
	photos := []string{"a/1.jpg", "a/2.jpg", "b/1.jpg", "top.jpg"}
	table := []harvestfile.Photo{
		{Line: 2, Photo: "a/2.jpg", Sample: "7"}, {Line: 3, Photo: "a/1.jpg", Sample: "7"},
		{Line: 4, Photo: "top.jpg", Sample: "8"}, {Line: 5, Photo: "gone.jpg", Sample: "8"}, {Line: 6, Photo: "1.jpg", Sample: "9"},
	}
	list, left, err := GatherPhotos(t.TempDir(), photos, ByTable("s.csv", table))
	if err != nil || grouped(list) != "7[a/1.jpg a/2.jpg] 8[gone.jpg top.jpg] 9[1.jpg]" || fmt.Sprint(left) != "[b/1.jpg]" {
		t.Errorf("%s, left %v, %v", grouped(list), left, err)
	}
	for sample, want := range map[int]map[string]string{
		1: {"gone.jpg": "s.csv names it on line 5, but it is not in the folder; copy it there or correct the table"},
		2: {"1.jpg": "s.csv names it on line 6, but 2 sub-folders hold one of that name; write its path within the folder"},
	} {
		if fmt.Sprint(list[sample].Refused) != fmt.Sprint(want) {
			t.Errorf("refused %v", list[sample].Refused)
		}
	}
	// A bare name stands for the photo in the sub-folder, once.
	_, _, err = GatherPhotos(t.TempDir(), photos, ByTable("s.csv", []harvestfile.Photo{{Line: 2, Photo: "2.jpg", Sample: "7"}, {Line: 3, Photo: "a/2.jpg", Sample: "8"}}))
	if err == nil || err.Error() != "s.csv line 3: the photo a/2.jpg stands there twice" {
		t.Error(err)
	}
}

func TestAddSettings(t *testing.T) {
	list := []Batch{{Name: "day1/7"}, {Name: "day1/8"}, {Name: "day2/8"}, {Name: "gap-3.0"}, {Name: "sam/."}, {Name: "x", Settings: result.Settings{Load: "12", Field: "told nearer"}}, {Name: "alone"}}
	load := func(name, sample string) harvestfile.Load {
		return harvestfile.Load{Sample: sample, Settings: result.Settings{Load: name, Field: "field " + name}}
	}
	unused, untold := AddSettings(list, []harvestfile.Load{load("7", "7"), load("8", "8"), load("1", "gap-3.0"), load("2", "sam"), load("12", "12"), load("99", "99")})
	var fields []string
	for _, b := range list {
		fields = append(fields, b.Settings.Field)
	}
	if got := strings.Join(fields, ","); got != "field 7,,,field 1,field 2,told nearer," {
		t.Errorf("fields %s", got)
	}
	if len(unused) != 2 || unused[0].Sample != "8" || unused[1].Sample != "99" || fmt.Sprint(untold) != "[day1/8 day2/8 alone]" {
		t.Errorf("unused %v, untold %v", unused, untold)
	}
}

func TestByPattern(t *testing.T) {
	photos := []string{"a/load7_1.JPG", "a/load7_2.jpg", "a/load12_1.jpg", "b/load7_1.jpg", "b/north_14_3.jpg", "notes.jpg"}
	for pattern, want := range map[string]string{
		"{sample}_{n}.jpg":                      "a/load12[a/load12_1.jpg] a/load7[a/load7_1.JPG a/load7_2.jpg] b/load7[b/load7_1.jpg] b/north_14[b/north_14_3.jpg], left [notes.jpg]",
		"*/{sample}_{n}.jpg":                    "load12[a/load12_1.jpg] load7[a/load7_1.JPG a/load7_2.jpg b/load7_1.jpg] north_14[b/north_14_3.jpg], left [notes.jpg]",
		"load{sample}_*":                        "a/12[a/load12_1.jpg] a/7[a/load7_1.JPG a/load7_2.jpg] b/7[b/load7_1.jpg], left [b/north_14_3.jpg notes.jpg]",
		"{field}/{sample}_{n}.jpg":              "load12[a/load12_1.jpg] north_14[b/north_14_3.jpg], conflict",
		`^(?P<sample>.*/load\d+)_\d\.(?i:jpg)$`: "a/load12[a/load12_1.jpg] a/load7[a/load7_1.JPG a/load7_2.jpg] b/load7[b/load7_1.jpg], left [b/north_14_3.jpg notes.jpg]",
		"{field}_{sample}_{n}.jpg":              "b/14[b/north_14_3.jpg], left [a/load7_1.JPG a/load7_2.jpg a/load12_1.jpg b/load7_1.jpg notes.jpg]",
		"{sample}":                              "a/load12_1.jpg[a/load12_1.jpg] a/load7_1.JPG[a/load7_1.JPG] a/load7_2.jpg[a/load7_2.jpg] b/load7_1.jpg[b/load7_1.jpg] b/north_14_3.jpg[b/north_14_3.jpg] notes.jpg[notes.jpg], left []",
	} {
		group, err := ByPattern(pattern)
		if err != nil {
			t.Errorf("%s: %v", pattern, err)
			continue
		}
		list, left, err := GatherPhotos(t.TempDir(), photos, group)
		got := fmt.Sprintf("%s, left %v", grouped(list), sorted(left, photos))
		if strings.HasSuffix(want, ", conflict") {
			if err == nil || err.Error() != "b/load7_1.jpg: field is b, but another photo of sample load7 says otherwise; a sample has one setting each" {
				t.Errorf("%s: %v", pattern, err)
			}
			continue
		}
		if err != nil || got != want {
			t.Errorf("%s:\n got %s, %v\nwant %s", pattern, got, err, want)
		}
	}
}

// sorted puts names in the order of all.
func sorted(names, all []string) []string {
	out := []string{}
	for _, a := range all {
		for _, n := range names {
			if n == a {
				out = append(out, n)
			}
		}
	}
	return out
}

func TestPatternTellsSettings(t *testing.T) {
	group, err := ByPattern("{field}_dm{dm_pct}_{sample}_{n}.jpg")
	if err != nil {
		t.Fatal(err)
	}
	list, _, err := GatherPhotos(t.TempDir(), []string{"north_dm34.5_7_1.jpg", "north_dm34.5_7_2.jpg"}, group)
	if err != nil || len(list) != 1 || list[0].Name != "7" || list[0].Settings.Field != "north" || *list[0].Settings.DMPct != 34.5 {
		t.Errorf("%+v, %v", list, err)
	}
	if _, _, err := GatherPhotos(t.TempDir(), []string{"north_dm345_7_1.jpg"}, group); err == nil || !strings.HasPrefix(err.Error(), "north_dm345_7_1.jpg: dm_pct: ") {
		t.Error(err)
	}
}

func TestBadPatterns(t *testing.T) {
	for pattern, want := range map[string]string{
		"load_{n}.jpg":              "names no sample",
		"^load(.*)$":                "names no sample",
		"^(?P<sample>":              "cannot be read: missing closing )",
		"{sample}_{weather}":        "no place {weather}",
		"{sample}_{sample}":         "{sample} stands there twice",
		"^(?P<sample>.)(?P<crop>.)": "no place {crop}",
	} {
		if _, err := ByPattern(pattern); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %s", pattern, err, want)
		}
	}
}

func TestWorkersFor(t *testing.T) {
	for _, c := range [][3]int{{8, 0, 2}, {1, 0, 1}, {8, 64000, 8}, {8, 3000, 2}, {8, 500, 1}, {2, 23000, 2}} {
		if got := workersFor(c[0], c[1]); got != c[2] {
			t.Errorf("%d processors, %d MB: %d workers, want %d", c[0], c[1], got, c[2])
		}
	}
	if n := BatchWorkers(); n < 1 {
		t.Errorf("%d workers", n)
	}
}
