package advice

import (
	"math/rand/v2"
	"strings"
	"testing"
)

// The figures of common practice for maize silage, haylage and mixed ration, from memory (see the
// source of each line).
func TestBuiltinTargets(t *testing.T) {
	cases := []struct{ set, measure, want string }{
		{"maize-silage/conventional", TopPct, "3 to 8 %"},
		{"maize-silage/conventional", MiddlePct, "45 to 65 %"},
		{"maize-silage/conventional", LowerPct, "20 to 30 %"},
		{"maize-silage/conventional", PanPct, "at most 10 %"},
		{"maize-silage/conventional", PassingPct, "at least 70 %"},
		{"maize-silage/conventional", KernelsPerCup, "at most 2 per 0.946 l"},
		{"maize-silage/conventional/older-box", LowerPct, "30 to 40 %"},
		{"haylage", MiddlePct, "45 to 75 %"},
		{"mixed-ration", PanPct, "30 to 40 %"},
		{"mixed-ration/older-box", PanPct, "at most 20 %"},
		{"maize-silage/by-dry-matter", PassingPct, "at least 2 × DM -5 %"},
		{"mixed-ration/practice", TopMiddlePct, "at least 50 %"},
	}
	for _, c := range cases {
		s, err := Targets().Find(c.set)
		if err != nil {
			t.Fatal(err)
		}
		l, ok := s.Line(c.measure)
		if !ok || l.Range() != c.want || l.Source == "" {
			t.Errorf("%s %s: %q, want %q, source %q", c.set, c.measure, l.Range(), c.want, l.Source)
		}
	}
}

func TestLoadTargetsRefuses(t *testing.T) {
	head := "schema: gristmark.targets/1\nsets:\n- {name: a, material: haylage, process: any, box: 19-8-4, lines: ["
	cases := []struct{ name, yaml, says string }{
		{"empty", "", "empty"},
		{"no schema", "sets: []", "schema"},
		{"no set", "schema: gristmark.targets/1", "no set"},
		{"no source", head + "{measure: top_pct, min: 3}]}", "source"},
		{"unknown measure", head + "{measure: tops, min: 3, source: x}]}", "unknown measure"},
		{"upside down", head + "{measure: top_pct, min: 9, max: 3, source: x}]}", "above max"},
		{"over 100", head + "{measure: top_pct, min: 190, source: x}]}", "over 100"},
		{"no limit", head + "{measure: top_pct, source: x}]}", "neither"},
		{"not a number", head + "{measure: top_pct, min: .nan, source: x}]}", "limit"},
		{"twice", head + "{measure: top_pct, min: 3, source: x}, {measure: top_pct, max: 3, source: x}]}", "two lines"},
		{"stray key", head + "{measure: top_pct, minimum: 3, source: x}]}", "minimum"},
		{"material", strings.Replace(head, "haylage", "straw", 1) + "{measure: top_pct, min: 3, source: x}]}", "material"},
	}
	for _, c := range cases {
		_, err := LoadTargets(strings.NewReader(c.yaml))
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	ok := head + "{measure: top_pct, min: 3, max: 9, source: common practice}]}"
	if c, err := LoadTargets(strings.NewReader(ok)); err != nil || c.Sets[0].Name != "a" {
		t.Errorf("good file: %v", err)
	}
}

func TestPickAndFindRefuse(t *testing.T) {
	if _, err := Targets().Pick("haylage", "", "19-8-1.18"); err == nil {
		t.Error("picked a set that is not there")
	}
	if _, err := Targets().Find("x"); err == nil || !strings.Contains(err.Error(), "haylage") {
		t.Errorf("find: %v", err)
	}
}

// A rule that would leave the documented range is refused when the rules are read.
func TestRulesKeepDocumentedRanges(t *testing.T) {
	bad := strings.Replace(string(builtinRules), "by: -0.5, min: 1, max: 3", "by: -0.5, min: 0.5, max: 3", 1)
	if _, err := loadRules([]byte(bad)); err == nil || !strings.Contains(err.Error(), "documented range") {
		t.Errorf("got %v", err)
	}
}

func FuzzLoadTargets(f *testing.F) {
	f.Add(string(builtinTargets))
	f.Add("schema: gristmark.targets/1\nsets: [{name: a}]")
	f.Fuzz(func(t *testing.T, s string) {
		c, err := LoadTargets(strings.NewReader(s))
		if err == nil && len(c.Sets) == 0 {
			t.Fatal("an empty catalogue passed")
		}
	})
}

// Every rule can fire, and every rule can be among the three that are given: none is dead.
func TestEveryRuleCanBeGiven(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	pick := func(words ...string) string { return words[r.IntN(len(words))] }
	given := map[string]bool{}
	for range 60000 {
		f := facts{
			words: map[string]string{
				"material": pick("maize-silage", "maize-silage", "haylage", "mixed-ration"), "process": pick("conventional", "shredding", "unprocessed"),
				"state": pick(Fresh, Fresh, Fermented), "kernels": pick("none", "short_of_target", "on_target", "undecided"),
				"pieces": pick("none", "short_of_target", "over_target", "on_target", "undecided"), "coarse": pick("yes", "no"), "fine": pick("yes", "no"),
			},
			numbers: map[string]float64{},
		}
		for name, high := range map[string]float64{"dm_pct": 45, "tloc_mm": 35, "roll_gap_mm": 5, "speed_diff_pct": 60, "knife_hours": 20, "throughput_tph": 300} {
			if r.IntN(2) == 0 {
				f.numbers[name] = high * r.Float64()
			}
		}
		for _, rule := range choose(rules().Rules, f) {
			given[rule.ID] = true
		}
	}
	for _, rule := range rules().Rules {
		if !given[rule.ID] {
			t.Errorf("rule %q is never given", rule.ID)
		}
	}
}
