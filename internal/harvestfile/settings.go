package harvestfile

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"gristmark/internal/advice"
	"gristmark/internal/result"
	"gristmark/internal/sieve"
)

// column is a setting of a load.
type column struct {
	name   string
	what   string // for people
	unit   string // of a number; empty for words
	word   func(*result.Settings) *string
	number func(*result.Settings) **float64
}

// columns are the settings that a table may hold.
var columns = []column{
	{name: "load", what: "name or number of the load", word: func(s *result.Settings) *string { return &s.Load }},
	{name: "taken_at", what: "when the load was sampled", word: func(s *result.Settings) *string { return &s.TakenAt }},
	{name: "farm", what: "the farm", word: func(s *result.Settings) *string { return &s.Farm }},
	{name: "field", what: "the field", word: func(s *result.Settings) *string { return &s.Field }},
	{name: "hybrid", what: "the hybrid", word: func(s *result.Settings) *string { return &s.Hybrid }},
	{name: "process", what: "conventional, shredding or unprocessed", word: func(s *result.Settings) *string { return &s.Process }},
	{name: "state", what: "fresh or fermented", word: func(s *result.Settings) *string { return &s.State }},
	{name: "dm_pct", what: "the dry matter", unit: "%", number: func(s *result.Settings) **float64 { return &s.DMPct }},
	{name: "tloc_mm", what: "the length of cut", unit: "mm", number: func(s *result.Settings) **float64 { return &s.TLOCMM }},
	{name: "roll_gap_mm", what: "the roll gap", unit: "mm", number: func(s *result.Settings) **float64 { return &s.RollGapMM }},
	{name: "speed_diff_pct", what: "the speed difference of the rolls", unit: "%", number: func(s *result.Settings) **float64 { return &s.SpeedDiffPct }},
	{name: "knife_hours", what: "the hours since the knives were sharpened", unit: "h", number: func(s *result.Settings) **float64 { return &s.KnifeHours }},
	{name: "throughput_tph", what: "the throughput", unit: "t/h", number: func(s *result.Settings) **float64 { return &s.ThroughputTPH }},
	{name: "note", what: "anything", word: func(s *result.Settings) *string { return &s.Note }},
}

// Columns names the settings.
func Columns() []string {
	var names []string
	for _, c := range columns {
		names = append(names, c.name)
	}
	return names
}

// Set writes a value as people write it into a setting; an empty value leaves it. The error is a sentence without the place.
func Set(s *result.Settings, name, value string) error {
	value = strings.TrimSpace(value)
	i := slices.IndexFunc(columns, func(c column) bool { return c.name == name })
	if i < 0 {
		return fmt.Errorf("%q is no setting; there are %s", name, strings.Join(Columns(), ", "))
	}
	c := columns[i]
	switch {
	case value == "":
		return nil
	case c.number != nil:
		return c.setNumber(s, value)
	}
	return c.setWord(s, value)
}

func (c column) setWord(s *result.Settings, value string) error {
	switch c.name {
	case "state", "process":
		value = strings.ToLower(value)
	case "taken_at":
		t, ok := plainTime(value)
		if !ok {
			return fmt.Errorf("%s: %q is no time; write 2026-09-17T09:12:00+02:00, 2026-09-17 09:12 or 2026-09-17", c.name, value)
		}
		value = t
	}
	*c.word(s) = value
	return c.check(*s)
}

// unitTail is a unit behind a number.
var unitTail = regexp.MustCompile(`^([-+0-9.,' ]*[0-9.,])\s*([^-+0-9.,'\s].*)$`)

// perUnit turns what people write into the unit of a column.
var perUnit = map[string]map[string]float64{
	"mm": {"in": 25.4, "inch": 25.4, "inches": 25.4, `"`: 25.4, "″": 25.4, "cm": 10},
	"h":  {"min": 1.0 / 60, "d": 24},
}

func (c column) setNumber(s *result.Settings, value string) error {
	text, unit := value, ""
	if m := unitTail.FindStringSubmatch(value); m != nil {
		text, unit = m[1], strings.ToLower(m[2])
	}
	v, err := sieve.ParseNumber(text)
	if err != nil {
		return fmt.Errorf("%s: %q %w", c.name, value, err)
	}
	if unit != "" && unit != c.unit {
		if f, ok := perUnit[c.unit][unit]; ok {
			return fmt.Errorf("%s: %q is in the wrong unit; write it in %s, %.4g", c.name, value, c.unit, v*f)
		}
		return fmt.Errorf("%s: %q is in the wrong unit; write it in %s", c.name, value, c.unit)
	}
	*c.number(s) = &v
	return c.check(*s)
}

// check holds one setting against what machines and crops have.
func (c column) check(s result.Settings) error {
	var alone result.Settings
	if c.number != nil {
		*c.number(&alone) = *c.number(&s)
	} else {
		*c.word(&alone) = *c.word(&s)
	}
	if err := Context(alone).Validate(); err != nil {
		return fmt.Errorf("%s: %s", c.name, strings.TrimPrefix(err.Error(), "advice: "))
	}
	return nil
}

// Context is what advice takes of the settings.
func Context(s result.Settings) advice.Context {
	return advice.Context{Process: s.Process, State: s.State, DMPct: s.DMPct, TLOCMM: s.TLOCMM, RollGapMM: s.RollGapMM,
		SpeedDiffPct: s.SpeedDiffPct, KnifeHours: s.KnifeHours, ThroughputTPH: s.ThroughputTPH}
}

// FromContext is the settings that a context tells.
func FromContext(c advice.Context) result.Settings {
	return result.Settings{Process: c.Process, State: c.State, DMPct: c.DMPct, TLOCMM: c.TLOCMM, RollGapMM: c.RollGapMM,
		SpeedDiffPct: c.SpeedDiffPct, KnifeHours: c.KnifeHours, ThroughputTPH: c.ThroughputTPH}
}

// plainTime is a time in the one form that sorts: RFC 3339, with an offset only if it was told, or a date alone.
func plainTime(s string) (string, bool) {
	for _, form := range [][2]string{
		{time.RFC3339, time.RFC3339}, {"2006-01-02T15:04:05", "2006-01-02T15:04:05"}, {"2006-01-02T15:04", "2006-01-02T15:04:05"},
		{"2006-01-02 15:04:05", "2006-01-02T15:04:05"}, {"2006-01-02 15:04", "2006-01-02T15:04:05"}, {time.DateOnly, time.DateOnly},
	} {
		if t, err := time.Parse(form[0], s); err == nil {
			return t.Format(form[1]), true
		}
	}
	return "", false
}

// unknown tells what to do about a column that is not known: another unit of one that is, a slip of the pen, or the list.
func unknown(name string, known []string) string {
	for _, c := range columns {
		if c.unit != "" && stem(c.name) == stem(name) {
			return fmt.Sprintf("%s goes into %s, in %s", c.what, c.name, c.unit)
		}
	}
	for _, k := range known {
		if stem(k) == stem(name) || slip(k, name) {
			return "did you mean " + k + "?"
		}
	}
	return "there are " + strings.Join(known, ", ")
}

// stem is a name without the unit at its end.
func stem(name string) string {
	if i := strings.LastIndexByte(name, '_'); i > 0 {
		return name[:i]
	}
	return name
}

// slip reports whether two names differ by one letter, or two neighbours changed places.
func slip(a, b string) bool {
	if len(a) < len(b) {
		a, b = b, a
	}
	i := 0
	for i < len(b) && a[i] == b[i] {
		i++
	}
	switch len(a) - len(b) {
	case 0:
		if i+1 < len(a) && a[i+1:] == b[i+1:] || i+1 == len(a) {
			return true
		}
		return i+2 <= len(a) && a[i] == b[i+1] && a[i+1] == b[i] && a[i+2:] == b[i+2:]
	case 1:
		return a[i+1:] == b[i:]
	}
	return false
}

func trim(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
