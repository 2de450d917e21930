package words

import (
	"cmp"
	"regexp"
	"slices"
	"strings"
	"unicode"
)

// pattern finds finished sentences of one form again.
type pattern struct {
	whole    *regexp.Regexp
	probe    string   // the longest piece of plain text: what lacks it is passed over at once
	names    []string // of the groups: the fact, or the verb
	part     []bool   // of the groups: part of a longer name, as in %s_pct
	text     string   // in the language, with the same verbs or facts
	literals int      // letters of plain text
}

// hole is a verb of fmt or a fact in braces.
var hole = regexp.MustCompile(`%(?:\[\d+\])?[-+#0]*\d*(?:\.\d+)?[a-zA-Z%]|\{\{\.[a-z0-9_]+\}\}`)

// textForm is what a hole of text may hold. Only a fact, and what ends a sentence, may hold several clauses: a hole within one
// would else swallow the clauses before it.
func textForm(name string, last bool) string {
	switch {
	case name[len(name)-1] == 'q':
		return `("(?:[^"\\]|\\.)*")`
	case last || strings.HasPrefix(name, "{{"):
		return `(.+?)`
	}
	return `((?:[^:;]|[:;][^ ])+?)`
}

const numberForm = `[-+]?(?:\d[\d.]*(?:e[-+]?\d+)?|NaN|Inf)`

// wholeNumber is a number by itself, or with a short unit.
var wholeNumber = regexp.MustCompile(`^` + numberForm + `(?: ?(?:%|[a-z]{1,2}(?:/[a-z]{1,2})?))?$`)

// newPattern of an English wording; ok is false where it has no hole.
func newPattern(english, text string) (p pattern, ok bool) {
	p.text = text
	var form strings.Builder
	form.WriteString(`(?s)^`)
	at := 0
	plain := func(s string) {
		form.WriteString(regexp.QuoteMeta(s))
		p.literals += len(s)
		if len(s) > len(p.probe) {
			p.probe = s
		}
	}
	for _, m := range hole.FindAllStringIndex(english, -1) {
		plain(english[at:m[0]])
		at = m[1]
		part := strings.HasPrefix(english[at:], "_")
		switch name := english[m[0]:m[1]]; {
		case name == "%%":
			plain("%")
		case strings.HasPrefix(name, "{{") || strings.ContainsAny(name[len(name)-1:], "svwxq"):
			form.WriteString(textForm(name, english[at:] == ""))
			p.names, p.part = append(p.names, name), append(p.part, part)
		default:
			form.WriteString(`(` + numberForm + `)`)
			p.names, p.part = append(p.names, name), append(p.part, part)
		}
	}
	plain(english[at:])
	form.WriteString(`$`)
	if len(p.names) == 0 || letters(hole.ReplaceAllString(english, "")) < leastLetters(p.names) {
		return p, false
	}
	p.whole = regexp.MustCompile(form.String())
	return p, true
}

// leastLetters are how many letters besides its holes a form needs to be told from others: of one that holds text more than of
// one that holds numbers alone.
func leastLetters(names []string) int {
	for _, name := range names {
		if strings.HasPrefix(name, "{{") || strings.ContainsAny(name[len(name)-1:], "svwxq") {
			return 6
		}
	}
	return 0
}

func letters(s string) int {
	n := 0
	for _, r := range s {
		if unicode.IsLetter(r) {
			n++
		}
	}
	return n
}

// say gives the sentence in the language with what its holes hold, that by itself translated too.
func (p pattern) say(t *tongue, text string, depth int) (string, bool) {
	if !strings.Contains(text, p.probe) {
		return "", false
	}
	held := p.whole.FindStringSubmatch(text)
	if held == nil {
		return "", false
	}
	for i := range held {
		if i > 0 && !p.part[i-1] {
			held[i], _ = t.say(held[i], depth+1)
		}
	}
	next := 0
	return hole.ReplaceAllStringFunc(p.text, func(h string) string {
		if h == "%%" {
			return "%"
		}
		if strings.HasPrefix(h, "{{") {
			return held[1+slices.Index(p.names, h)]
		}
		i := next
		if order := explicit(h); order > 0 {
			i = order - 1
		}
		next = i + 1
		return held[1+i]
	}), true
}

// explicit is n of a verb written as %[n]s, or 0.
func explicit(verb string) int {
	if len(verb) > 4 && verb[1] == '[' && verb[2] >= '1' && verb[2] <= '9' && verb[3] == ']' {
		return int(verb[2] - '0')
	}
	return 0
}

// book are the patterns, those with the most plain text first.
func (t *tongue) book() []pattern {
	t.once.Do(func() {
		t.sentences = map[string]string{}
		for english, text := range t.texts {
			english, text = strings.TrimSuffix(english, "."), strings.TrimSuffix(text, ".")
			if p, ok := newPattern(english, text); ok {
				t.patterns = append(t.patterns, p)
			} else if !hole.MatchString(english) {
				t.sentences[english] = text
			}
		}
		slices.SortFunc(t.patterns, func(a, b pattern) int {
			return cmp.Or(cmp.Compare(b.literals, a.literals), cmp.Compare(a.whole.String(), b.whole.String()))
		})
	})
	return t.patterns
}

// deepest bounds how far what a sentence holds is taken apart, longestText how long it may be: documents come from anyone.
const (
	deepest     = 5
	longestText = 8000
)

// say finds a finished English text again; known is false where no part of it is known.
func (t *tongue) say(text string, depth int) (said string, known bool) {
	if text == "" || depth > deepest || len(text) > longestText {
		return text, false
	}
	if wholeNumber.MatchString(text) {
		return strings.Replace(text, ".", t.decimal, 1), true
	}
	if other, ok := t.one(text, depth); ok {
		return other, true
	}
	if other, ok := t.headed(text, depth); ok {
		return other, true
	}
	for _, by := range []string{". ", " | ", "; ", ": ", ", "} {
		if other, ok := t.parts(text, by, depth); ok {
			return other, true
		}
	}
	return text, false
}

// one finds a text as a whole, with or without a full stop.
func (t *tongue) one(text string, depth int) (string, bool) {
	text = bare(text)
	ended, stopped := strings.CutSuffix(text, ".")
	patterns := t.book()
	other, ok := t.sentences[ended]
	for i := 0; !ok && i < len(patterns); i++ {
		other, ok = patterns[i].say(t, ended, depth)
	}
	if ok && stopped {
		other += "."
	}
	return other, ok
}

// headed finds "HEAD: REST" where REST is known as a whole and HEAD is known, or a name such as a file's.
func (t *tongue) headed(text string, depth int) (string, bool) {
	for at := 0; ; {
		i := strings.Index(text[at:], ": ")
		if i < 0 {
			return "", false
		}
		head, rest := text[:at+i], text[at+i+2:]
		at += i + 2
		said, ok := t.one(rest, depth)
		if !ok {
			continue
		}
		if other, known := t.one(head, depth); known {
			head = other
		} else if strings.Contains(head, " ") {
			head, _ = t.say(head, depth+1)
		}
		return head + ": " + said, true
	}
}

// parts takes a text apart, each part being the longest that is known; what is not known stays. At least one part must be known.
func (t *tongue) parts(text, by string, depth int) (string, bool) {
	pieces := strings.Split(text, by)
	if len(pieces) == 1 || len(pieces) > 40 {
		return "", false
	}
	known := false
	var out []string
	for i := 0; i < len(pieces); {
		said, n := t.longest(pieces[i:], by, i > 0, depth)
		if n == 0 {
			var ok bool
			said, ok = t.say(pieces[i], depth+1)
			if !ok && by == ", " {
				return "", false // a list of names, some of which are words by chance
			}
			n, known = 1, known || ok
		} else {
			known = true
		}
		out = append(out, said)
		i += n
	}
	return strings.Join(out, by), known
}

// longest finds the most pieces from the first that are known together, not all where whole is false: these were tried before.
// Zero says that not even one is.
func (t *tongue) longest(pieces []string, by string, whole bool, depth int) (said string, n int) {
	const most = 6 // no known text has more
	from := min(len(pieces), most)
	if !whole && from == len(pieces) {
		from--
	}
	for n := from; n >= 1; n-- {
		part := strings.Join(pieces[:n], by)
		if said, ok := t.one(part, depth); ok {
			return said, n
		}
	}
	return "", 0
}

// Say gives a finished English text in the language and the units of the words; what of it is not known stays English.
func (w *Words) Say(english string) string {
	said := english
	if !w.english() {
		said, _ = w.of().say(english, 0)
	}
	return w.InUnits(said)
}

// InUnits gives a finished text in any language with its metric figures in the units of the words.
func (w *Words) InUnits(text string) string {
	if w.us() {
		return w.inUS(text)
	}
	return text
}

// Knows reports whether the text, or a part of it, has its wording in the language.
func (w *Words) Knows(english string) bool {
	if w.english() {
		return true
	}
	_, known := w.of().say(english, 0)
	return known
}
