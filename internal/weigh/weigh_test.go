package weigh

import (
	"encoding/json"
	"strings"
	"testing"
	"unicode/utf8"

	"gristmark/internal/advice"
	"gristmark/internal/plain"
	"gristmark/internal/result"
	"gristmark/internal/sieve"
)

func build(t *testing.T, typed string, choice Choice) *Document {
	t.Helper()
	w, err := sieve.ParseTyped(typed, sieve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	choice.Catalogue = advice.Targets()
	d, err := Build(w, sieve.Terms{}, choice, advice.Context{})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func verdict(d *Document) string {
	if d.Verdict.Pieces == nil {
		return "none"
	}
	return *d.Verdict.Pieces
}

// Ranges of the boxes as in the target file (from memory and common practice, see there).
func TestVerdictsByMaterial(t *testing.T) {
	for _, c := range []struct {
		typed  string
		choice Choice
		want   string
	}{
		{"top=5,middle=60,lower=28,pan=7", Choice{}, result.OnTarget},
		{"top=12,middle=55,lower=26,pan=7", Choice{}, result.OverTarget},
		{"top=5,middle=45,lower=35,pan=15", Choice{}, result.ShortOfTarget},
		{"top=15,middle=45,lower=35,pan=5", Choice{Material: "haylage"}, result.OnTarget},
		{"top=10,middle=45,lower=28,pan=17", Choice{Set: "mixed-ration/practice"}, result.OnTarget},
		{"top=38,middle=42,lower=14,pan=6", Choice{Process: "shredding"}, result.OnTarget},
		{"19=5,8=60,1.18=32,pan=3", Choice{}, result.OnTarget},
		{"12.7=5,6.3=60,pan=35", Choice{}, "none"},
		{"top=5,middle=60,pan=35", Choice{}, result.OnTarget}, // three parts: the pan holds the lower box too, and is not judged
	} {
		d := build(t, c.typed, c.choice)
		if verdict(d) != c.want {
			t.Errorf("%s %+v: %s, want %s", c.typed, c.choice, verdict(d), c.want)
		}
	}
}

// The band follows from the boxes: at most 3 to 8 % above 19 mm leaves 92 to 97 % finer.
func TestBand(t *testing.T) {
	b := build(t, "top=5,middle=60,lower=28,pan=7", Choice{}).Band()
	want := []sieve.Band{{OpeningMM: 4, LowPct: 0, HighPct: 10}, {OpeningMM: 8, LowPct: 27, HighPct: 52}, {OpeningMM: 19, LowPct: 92, HighPct: 97}}
	if len(b) != 3 || b[0] != want[0] || b[1] != want[1] || b[2] != want[2] {
		t.Errorf("%v", b)
	}
	if b := build(t, "12.7=5,6.3=60,pan=35", Choice{}).Band(); len(b) != 0 {
		t.Errorf("a band without targets: %v", b)
	}
}

func TestRefusedSampleHasNoVerdict(t *testing.T) {
	in := 700.0
	w, err := sieve.ParseTyped("top=60,middle=270,lower=130,pan=40", sieve.Options{PutInG: &in})
	if err != nil {
		t.Fatal(err)
	}
	d, err := Build(w, sieve.Terms{}, Choice{Catalogue: advice.Targets()}, advice.Context{})
	if err != nil || d.Refused == nil || d.Verdict.Pieces != nil || len(d.Advice) != 0 {
		t.Errorf("%v %+v", err, d)
	}
}

func TestTextKeepsTheWidth(t *testing.T) {
	var b strings.Builder
	if err := build(t, "top=60,middle=210,lower=150,pan=80", Choice{}).WriteText(&b, nil); err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(b.String(), "\n") {
		if utf8.RuneCountInString(line) > plain.Columns {
			t.Errorf("too long: %q", line)
		}
	}
	if !strings.HasPrefix(b.String(), "Too coarse and too fine at once") {
		t.Error(b.String())
	}
}

func TestDocumentReadsBack(t *testing.T) {
	d := build(t, "top=12,middle=55,lower=26,pan=7", Choice{})
	data, err := json.Marshal(d)
	if err != nil {
		t.Fatal(err)
	}
	var back Document
	if err := json.Unmarshal(data, &back); err != nil {
		t.Fatal(err)
	}
	if back.Schema != sieve.Schema || len(back.Fractions) != 4 || verdict(&back) != result.OverTarget || back.Geometric.MeanMM != d.Geometric.MeanMM {
		t.Errorf("%+v", back)
	}
}

// The mixed ration has a second set, the rule of the trade, which asks otherwise; maize silage has none that does.
func TestOtherTargetsAreNamed(t *testing.T) {
	if d := build(t, "top=10,middle=45,lower=28,pan=17", Choice{Material: "mixed-ration"}); !strings.Contains(strings.Join(d.Notes, " "), "--set mixed-ration/practice") {
		t.Error(d.Notes)
	}
	for _, c := range []Choice{{Set: "mixed-ration"}, {}} {
		if d := build(t, "top=10,middle=45,lower=28,pan=17", c); strings.Contains(strings.Join(d.Notes, " "), "--set") {
			t.Error(d.Notes)
		}
	}
}
