package words

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
)

// Words are a language and a choice of units. They may be used by many goroutines at once; nil is English and metric.
type Words struct {
	tongue *tongue
	units  Units
}

// tongue is one language with all its texts.
type tongue struct {
	tag     language.Tag
	printer func() *message.Printer // a new one: printers are not safe for several goroutines
	texts   map[string]string       // from the English wording
	decimal string                  // between whole and tenths

	once      sync.Once
	sentences map[string]string // texts without verbs and facts, without their full stop
	patterns  []pattern         // of the texts with verbs or facts, the most particular first
}

// Languages are the codes of the languages there are, English first.
func Languages() []string { return slices.Clone(codes) }

var codes = []string{"en", "de"}

// tongues load a language when it is first asked for.
var tongues = func() map[string]func() *tongue {
	all := map[string]func() *tongue{}
	for _, code := range codes {
		all[code] = sync.OnceValue(func() *tongue {
			t, err := load(code)
			if err != nil {
				panic(err) // the files are compiled in
			}
			return t
		})
	}
	return all
}()

// For gives the words of a language, in metric units. Lang is a code such as "de", "de-AT" or "de_DE.UTF-8"; empty, "C" and
// "POSIX" are English. The error names the languages that there are.
func For(lang string) (*Words, error) {
	code, ok := match(lang)
	if !ok {
		return nil, fmt.Errorf("words: there are no words in the language %q; choose %s", lang, strings.Join(codes, " or "))
	}
	return &Words{tongue: tongues[code]()}, nil
}

// FromEnvironment gives the words that the environment asks for: the first that is set of LC_ALL, LC_MESSAGES and LANG.
// English where it names a language that there is not.
func FromEnvironment(getenv func(string) string) *Words {
	for _, name := range []string{"LC_ALL", "LC_MESSAGES", "LANG"} {
		if v := getenv(name); v != "" {
			if w, err := For(v); err == nil {
				return w
			}
			break
		}
	}
	return nil
}

// ForHeader gives the words that a browser's Accept-Language header asks for, English where there are none.
func ForHeader(header string) *Words {
	wanted, _, err := language.ParseAcceptLanguage(header)
	if err != nil || len(wanted) == 0 {
		return nil
	}
	_, i, confidence := matcher.Match(wanted...)
	if confidence == language.No {
		return nil
	}
	return &Words{tongue: tongues[codes[i]]()}
}

var matcher = language.NewMatcher([]language.Tag{language.English, language.German})

// match finds the language for a code.
func match(lang string) (code string, ok bool) {
	lang, _, _ = strings.Cut(lang, ".")
	lang, _, _ = strings.Cut(lang, "@")
	if lang == "" || lang == "C" || lang == "POSIX" {
		return codes[0], true
	}
	tag, err := language.Parse(strings.ReplaceAll(lang, "_", "-"))
	if err != nil {
		return "", false
	}
	_, i, confidence := matcher.Match(tag)
	return codes[i], confidence >= language.High
}

// With gives the same language in other units.
func (w *Words) With(units Units) *Words {
	return &Words{tongue: w.of(), units: units}
}

// Metric gives the same language in metric units.
func (w *Words) Metric() *Words { return w.With(Metric) }

// Units are those of the words.
func (w *Words) Units() Units {
	if w == nil {
		return Metric
	}
	return w.units
}

// Lang is the code of the language, as for the attribute lang of HTML.
func (w *Words) Lang() string { return w.of().tag.String() }

func (w *Words) of() *tongue {
	if w == nil || w.tongue == nil {
		return tongues[codes[0]]()
	}
	return w.tongue
}

func (w *Words) english() bool { return w.of().tag == language.English }

// K marks an English wording that T is asked for elsewhere, so that the tests know of it.
func K(english string) string { return english }

// T is the text of that English wording. With args its verbs are filled as fmt does, numbers in the language's form; without any
// it is taken as it stands, per cent signs and all.
func (w *Words) T(english string, args ...any) string {
	t := w.of()
	if len(args) == 0 {
		if other, ok := t.texts[english]; ok {
			return other
		}
		return english
	}
	return t.printer().Sprintf(english, args...)
}
