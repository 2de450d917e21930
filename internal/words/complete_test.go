package words

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gopkg.in/yaml.v3"
)

// Every text that the code asks for by T or K has a German wording.
func TestEveryTextHasItsWording(t *testing.T) {
	list := keys(t)
	if len(list) < 200 {
		t.Fatalf("only %d texts were found in the code; is the search broken?", len(list))
	}
	for _, line := range missing(german(t), list) {
		t.Errorf("no German for %s", line)
	}
}

// Advice, targets and their sources are data; all of them have a German wording.
func TestAdviceHasItsWording(t *testing.T) {
	w := german(t)
	n := 0
	for _, file := range []string{"rules.yaml", "targets.yaml"} {
		data, err := os.ReadFile(filepath.Join(root, "internal/advice", file))
		if err != nil {
			t.Fatal(err)
		}
		var tree yaml.Node
		if err := yaml.Unmarshal(data, &tree); err != nil {
			t.Fatal(err)
		}
		texts(&tree, "", func(text string) {
			n++
			if _, ok := w.of().texts[text]; !ok {
				t.Errorf("no German for %s: %s", file, text)
			}
		})
	}
	if n < 100 {
		t.Errorf("only %d texts of advice were found", n)
	}
}

// texts calls do with every text for people: that of the keys do, why, title, source and note, and those under cautions and checks.
func texts(n *yaml.Node, under string, do func(string)) {
	if n.Kind != yaml.MappingNode {
		for _, c := range n.Content {
			texts(c, under, do)
		}
		return
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i].Value, n.Content[i+1]
		shown := slices.Contains([]string{"do", "why", "title", "source", "note"}, key) || slices.Contains([]string{"cautions", "checks"}, under)
		switch {
		case key == "ranges": // the sources of limits are not shown
		case value.Kind == yaml.ScalarNode && shown:
			do(value.Value)
		default:
			texts(value, key, do)
		}
	}
}

// pureCommand is an example of a command, the same in every language.
var pureCommand = regexp.MustCompile(`^gristmark [a-z]+( |$)[^;]*$`)

// leftEnglish are files whose texts people do not meet: faults of the program, names of features, tools beside the program.
var leftEnglish = regexp.MustCompile(`^(vision/(feature|model|net|cut|cutmodel)\.|internal/(estimate|compare)/coverage|calib/card/|internal/advice/rules|internal/sieve/(plot|s424|header)|cmd/gristmark/(measurer|serve|demo|man)|internal/pipeline/(tidy|store))`)

// Errors, refusals, checks' advice and notes that rooms hand over finished have a German wording: 19 of 20 at least, so that a new
// one does not stop the work; those without are listed.
func TestSentencesHaveTheirWording(t *testing.T) {
	w := german(t)
	var all []said
	for _, s := range sentences(t, "cmd/gristmark", "calib", "vision", "internal/pipeline", "internal/intake", "internal/estimate", "internal/judge",
		"internal/advice", "internal/weigh", "internal/compare", "internal/cup", "internal/lab", "internal/sieve", "internal/harvestfile") {
		if !pureCommand.MatchString(s.text) && !leftEnglish.MatchString(strings.TrimPrefix(s.at, root+"/")) {
			all = append(all, s)
		}
	}
	var without []string
	for _, line := range missing(w, all) {
		_, text, _ := strings.Cut(line, ": ")
		if !heldByAnother(w, bare(text)) {
			without = append(without, line)
		}
	}
	for _, line := range without {
		t.Logf("no German for %s", line)
	}
	if len(all) < 300 || len(without)*20 > len(all) {
		t.Errorf("%d of %d sentences have no German wording", len(without), len(all))
	}
}

// heldByAnother reports whether the text is a piece of a known wording.
func heldByAnother(w *Words, text string) bool {
	text = strings.TrimSpace(strings.Trim(text, " ;,:("))
	for english := range w.of().texts {
		if len(text) > 8 && strings.Contains(english, text) {
			return true
		}
	}
	return false
}

// The verbs and facts of a wording are those of its English, so that no number is lost or put in another's place.
func TestVerbsMatch(t *testing.T) {
	for _, code := range Languages() {
		list, err := entries(code)
		if err != nil {
			t.Fatal(err)
		}
		seen := map[string]bool{}
		for _, e := range list {
			if seen[e.English] {
				t.Errorf("%s: two wordings of %q", code, e.English)
			}
			seen[e.English] = true
			wordings := []string{e.Text}
			if e.Text == "" {
				wordings = []string{e.One, e.Other}
				if e.Other == "" {
					t.Errorf("%s: no wording of %q", code, e.English)
				}
			}
			for _, text := range wordings {
				if want, got := verbs(e.English), verbs(text); !slices.Equal(want, got) && text != e.One {
					t.Errorf("%s: %q has %v, its English %v", code, text, got, want)
				}
			}
		}
	}
}

// verbs are the holes of a text in the order of what fills them.
func verbs(text string) []string {
	var out []string
	next := 0
	for _, h := range hole.FindAllString(text, -1) {
		switch n := explicit(h); {
		case h == "%%" || strings.HasPrefix(h, "{{"):
			continue
		case n > 0:
			next = n - 1
			h = "%" + h[4:]
		}
		for len(out) <= next {
			out = append(out, "")
		}
		out[next] = h
		next++
	}
	facts := regexp.MustCompile(`\{\{\.[a-z0-9_]+\}\}`).FindAllString(text, -1)
	slices.Sort(facts)
	return append(out, facts...)
}
