package advice

import (
	"bytes"
	_ "embed"
	"fmt"
	"slices"
	"sync"
	"text/template"

	"gopkg.in/yaml.v3"
)

// condition is what a rule asks of one fact: a list of words, or bounds on a number.
type condition struct {
	Words     []string
	Above     *float64 `yaml:"above"`
	Below     *float64 `yaml:"below"`
	AtLeast   *float64 `yaml:"at_least"`
	AtMost    *float64 `yaml:"at_most"`
	Known     *bool    `yaml:"known"`
	OrUnknown bool     `yaml:"or_unknown"` // also holds where the fact is unknown
}

// UnmarshalYAML reads a list as words and a mapping as bounds.
func (c *condition) UnmarshalYAML(n *yaml.Node) error {
	if n.Kind == yaml.SequenceNode {
		return n.Decode(&c.Words)
	}
	type bounds condition
	return n.Decode((*bounds)(c))
}

// move is a step of a setting that never leaves Min..Max.
type move struct {
	Fact     string  `yaml:"fact"`
	By       float64 `yaml:"by"`
	Min, Max float64
}

// to is the value after the step.
func (m move) to(from float64) float64 { return min(max(from+m.By, m.Min), m.Max) }

type rule struct {
	ID        string               `yaml:"id"`
	When      map[string]condition `yaml:"when"`
	Setting   string               `yaml:"setting"`   // what it touches; one piece of advice for each
	Direction string               `yaml:"direction"` // up, down, check, sharpen
	Move      *move                `yaml:"move"`
	Effect    int                  `yaml:"effect"` // expected order of effect, 0..100
	Do        text                 `yaml:"do"`
	Why       text                 `yaml:"why"`
	Check     string               `yaml:"check"`   // key of checks
	Caution   []string             `yaml:"caution"` // keys of cautions
}

type limits struct {
	Min, Max float64
	Source   string
}

type ruleBook struct {
	Schema   string            `yaml:"schema"`
	Ranges   map[string]limits `yaml:"ranges"`
	Cautions map[string]string `yaml:"cautions"`
	Checks   map[string]string `yaml:"checks"`
	Rules    []rule            `yaml:"rules"`
}

// text is a sentence with facts in it, as {{.roll_gap_mm}}.
type text struct{ *template.Template }

// UnmarshalYAML parses the template.
func (t *text) UnmarshalYAML(n *yaml.Node) error {
	parsed, err := template.New("").Option("missingkey=error").Parse(n.Value)
	t.Template = parsed
	return err
}

func (t text) fill(words map[string]string) (string, error) {
	var b bytes.Buffer
	err := t.Execute(&b, words)
	return b.String(), err
}

//go:embed rules.yaml
var builtinRules []byte

// rules returns the built-in rule book, read once. A fault in it is a fault of the program.
var rules = sync.OnceValue(func() ruleBook {
	book, err := loadRules(builtinRules)
	if err != nil {
		panic(err)
	}
	return book
})

func loadRules(data []byte) (ruleBook, error) {
	var book ruleBook
	dec := yaml.NewDecoder(bytes.NewReader(data))
	dec.KnownFields(true)
	if err := dec.Decode(&book); err != nil {
		return book, fmt.Errorf("advice: the rules cannot be read: %w", err)
	}
	seen := map[string]bool{}
	for _, r := range book.Rules {
		if err := book.check(r); err != nil {
			return book, fmt.Errorf("advice: rule %q: %w", r.ID, err)
		}
		if seen[r.ID] {
			return book, fmt.Errorf("advice: two rules are called %q", r.ID)
		}
		seen[r.ID] = true
	}
	return book, nil
}

func (b ruleBook) check(r rule) error {
	switch {
	case r.ID == "" || r.Setting == "" || r.Direction == "" || len(r.When) == 0:
		return fmt.Errorf("id, when, setting and direction are all needed")
	case r.Do.Template == nil || r.Why.Template == nil:
		return fmt.Errorf("do and why are needed")
	case b.Checks[r.Check] == "":
		return fmt.Errorf("there is no check called %q", r.Check)
	case len(r.Caution) == 0:
		return fmt.Errorf("a caution is needed")
	}
	for _, c := range r.Caution {
		if b.Cautions[c] == "" {
			return fmt.Errorf("there is no caution called %q", c)
		}
	}
	for fact := range r.When {
		if !slices.Contains(wordFacts, fact) && !slices.Contains(numberFacts, fact) {
			return fmt.Errorf("there is no fact called %q", fact)
		}
	}
	if m := r.Move; m != nil {
		lim, ok := b.Ranges[m.Fact]
		if !ok || m.Min < lim.Min || m.Max > lim.Max || m.Min > m.Max {
			return fmt.Errorf("the move of %q leaves its documented range %g to %g", m.Fact, lim.Min, lim.Max)
		}
	}
	return nil
}
