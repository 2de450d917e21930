package words

import (
	"embed"
	"fmt"
	"path"
	"regexp"

	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/message/catalog"
	"gopkg.in/yaml.v3"
)

//go:embed lang
var files embed.FS

// entry is a text of a language file: the English wording and the language's own; where a number, the first verb, decides
// between singular and plural, One and Other stand in place of Text.
type entry struct {
	English string `yaml:"en"`
	Text    string `yaml:"is"`
	One     string `yaml:"one"`
	Other   string `yaml:"other"`
}

// entries reads all files of a language, by name.
func entries(code string) ([]entry, error) {
	dir := path.Join("lang", code)
	list, err := files.ReadDir(dir)
	if err != nil {
		return nil, fmt.Errorf("words: %w", err)
	}
	var out []entry
	for _, f := range list {
		data, err := files.ReadFile(path.Join(dir, f.Name()))
		if err != nil {
			return nil, fmt.Errorf("words: %w", err)
		}
		var part []entry
		if err := yaml.Unmarshal(data, &part); err != nil {
			return nil, fmt.Errorf("words: %s: %w", f.Name(), err)
		}
		out = append(out, part...)
	}
	return out, nil
}

// roomName is what errors begin with: the room that they come from, which tells people nothing.
var roomName = regexp.MustCompile(`^(?:advice|calib|card|compare|cup|estimate|harvestfile|intake|judge|lab|pipeline|ride|sieve|vision): `)

// bare is a text without the name of the room that it comes from.
func bare(english string) string {
	for {
		name := roomName.FindString(english)
		if name == "" {
			return english
		}
		english = english[len(name):]
	}
}

// load makes a language of its files.
func load(code string) (*tongue, error) {
	list, err := entries(code)
	if err != nil {
		return nil, err
	}
	tag := language.MustParse(code)
	book := catalog.NewBuilder(catalog.Fallback(language.English))
	t := &tongue{tag: tag, texts: map[string]string{}, decimal: "."}
	for _, e := range list {
		e.English = bare(e.English)
		if _, again := t.texts[e.English]; again {
			continue // the first counts; a test finds the second
		}
		if e.Text != "" {
			t.texts[e.English] = e.Text
			err = book.SetString(tag, e.English, e.Text)
		} else {
			t.texts[e.English] = e.Other
			err = book.Set(tag, e.English, plural.Selectf(1, "%d", plural.One, e.One, plural.Other, e.Other))
		}
		if err != nil {
			return nil, fmt.Errorf("words: %s: %q: %w", code, e.English, err)
		}
	}
	t.printer = func() *message.Printer { return message.NewPrinter(tag, message.Catalog(book)) }
	if s := t.printer().Sprintf("%.1f", 0.5); len(s) == 3 {
		t.decimal = s[1:2]
	}
	return t, nil
}
