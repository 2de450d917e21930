package harvestfile

import (
	"path"
	"slices"
	"strings"

	"gristmark/internal/result"
)

// Load is a line of harvest.csv.
type Load struct {
	Line     int
	Sample   string // which sample it speaks of: the column photos, a folder of photos, or else the name of the load
	Settings result.Settings
}

// beside are columns of a harvest that are no settings: the folder of its photos, and its weighed box.
var beside = []string{"photos", "box"}

// Loads reads harvest.csv: a line a load under a header. Name stands in the sentences of faults; the error is of type [Faults].
func Loads(name string, data []byte) ([]Load, error) {
	known := append(Columns(), beside...)
	t, err := readTable(name, data, func(c string) (string, string) {
		if slices.Contains(known, c) {
			return c, ""
		}
		return "", unknown(c, known)
	})
	if err != nil {
		return nil, err
	}
	t.need("load", "it names each load")
	if len(t.faults) > 0 { // the lines below would only repeat it
		return nil, t.faults
	}
	var loads []Load
	lines := map[string]int{}
	samples := map[string]int{}
	for _, r := range t.rows {
		l := Load{Line: r.line, Settings: t.settings(r)}
		if l.Settings.Load == "" {
			t.fault(r.line, "the load is empty; name it, or take the line out")
			continue
		}
		l.Sample = cleanPath(t.cell(r, "photos"))
		if l.Sample == "" {
			l.Sample = cleanPath(l.Settings.Load)
		}
		if other, twice := lines[l.Settings.Load]; twice {
			t.fault(r.line, "load %q stands there twice, on line %d too", l.Settings.Load, other)
		} else if other, twice := samples[l.Sample]; twice {
			t.fault(r.line, "the photos %q stand there twice, on line %d too", l.Sample, other)
		}
		lines[l.Settings.Load] = r.line
		samples[l.Sample] = r.line
		loads = append(loads, l)
	}
	return loads, t.faults.or()
}

// settings of a row; faults are noted.
func (t *table) settings(r row) result.Settings {
	var s result.Settings
	for _, c := range columns {
		if err := Set(&s, c.name, t.cell(r, c.name)); err != nil {
			t.fault(r.line, "%v", err)
		}
	}
	return s
}

// cleanPath makes a path within a folder as people write it one with slashes and no dots.
func cleanPath(p string) string {
	p = strings.TrimSpace(strings.ReplaceAll(p, `\`, "/"))
	if p == "" {
		return ""
	}
	return strings.TrimPrefix(path.Clean(p), "./")
}
