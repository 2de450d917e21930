package season

import (
	"cmp"
	"slices"

	"gristmark/internal/report/plots"
	"gristmark/internal/result"
	"gristmark/internal/words"
)

// Figure is a number of a sample that groups are held against each other by.
type Figure struct {
	ID     string // in the names of files
	Title  string // of a chart, to be followed by what the groups are
	Y      string // with its unit
	Of     func(*result.Sample) *result.Estimate
	Target *float64
	Most   float64
}

// Figures are the share through 4.75 mm, with its target, and the mean length in the unit of lengths.
func Figures(say *words.Words, target *float64) []Figure {
	return []Figure{
		{ID: "passing", Title: say.T("Kernel mass through 4.75 mm"), Y: say.T("share of kernel mass, %"), Of: PassingOf, Target: target, Most: 100},
		{ID: "lengths", Title: say.T("Mean length of the stover"), Y: say.T("geometric mean length by area, %s", say.LengthUnit()),
			Of: func(s *result.Sample) *result.Estimate { return inLengthUnit(say, LengthOf(s)) }},
	}
}

// Setting is what was told of the loads, to group them by.
type Setting struct {
	ID   string // in the names of files
	Name string // with its unit
	word func(result.Settings) string
	size func(result.Settings) *float64
}

// Settings are what loads can be grouped by.
func Settings(say *words.Words) []Setting {
	length := func(of func(result.Settings) *float64) func(result.Settings) *float64 {
		return func(s result.Settings) *float64 {
			v := of(s)
			if v == nil {
				return nil
			}
			in := say.InLengthUnit(*v)
			return &in
		}
	}
	return []Setting{
		{ID: "field", Name: say.T("field"), word: func(s result.Settings) string { return s.Field }},
		{ID: "hybrid", Name: say.T("hybrid"), word: func(s result.Settings) string { return s.Hybrid }},
		{ID: "process", Name: say.T("processing"), word: func(s result.Settings) string { return say.T(s.Process) }},
		{ID: "gap", Name: say.T("roll gap, %s", say.LengthUnit()), size: length(func(s result.Settings) *float64 { return s.RollGapMM })},
		{ID: "tloc", Name: say.T("length of cut, %s", say.LengthUnit()), size: length(func(s result.Settings) *float64 { return s.TLOCMM })},
		{ID: "speed-diff", Name: say.T("speed difference, %"), size: func(s result.Settings) *float64 { return s.SpeedDiffPct }},
	}
}

// key is the group of a sample: its name, and its number where it has one.
type key struct {
	name string
	size float64
}

func (s Setting) of(e Entry, say *words.Words) (key, bool) {
	if s.word != nil {
		name := s.word(e.Settings)
		return key{name: name}, name != ""
	}
	v := s.size(e.Settings)
	if v == nil {
		return key{}, false
	}
	return key{say.Trimmed(*v, 3), *v}, true
}

// By groups the samples that tell the setting; groups in order of size or name.
func (s Setting) By(entries []Entry, f Figure, say *words.Words) []plots.Group {
	found := map[key][]float64{}
	for _, e := range entries {
		k, told := s.of(e, say)
		if v := f.Of(e.Sample); told && v != nil {
			found[k] = append(found[k], v.Value)
		}
	}
	var keys []key
	for k := range found {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b key) int { return cmp.Or(cmp.Compare(a.size, b.size), natural(a.name, b.name)) })
	var out []plots.Group
	for _, k := range keys {
		out = append(out, plots.Group{Name: k.name, Values: found[k]})
	}
	return out
}

// mostGroups fit beside each other on a page.
const mostGroups = 12

// Boxes are the box plots of the season: each figure by each setting that at least two groups of two samples tell apart. Of more
// than twelve groups those with the most samples are drawn.
func Boxes(say *words.Words, entries []Entry, target *float64) []plots.Groups {
	var out []plots.Groups
	for _, s := range Settings(say) {
		for _, f := range Figures(say, target) {
			groups := s.By(entries, f, say)
			if !Comparable(groups) {
				continue
			}
			out = append(out, plots.Groups{ID: f.ID + "." + s.ID, Title: say.T("%s by %s", f.Title, s.Name), X: s.Name, Y: f.Y, Groups: largest(groups), Target: f.Target, Most: f.Most})
		}
	}
	return out
}

// Comparable reports whether at least two groups have two samples or more.
func Comparable(groups []plots.Group) bool {
	n := 0
	for _, g := range groups {
		if len(g.Values) >= 2 {
			n++
		}
	}
	return n >= 2
}

// largest keeps the groups with the most samples, in their order.
func largest(groups []plots.Group) []plots.Group {
	if len(groups) <= mostGroups {
		return groups
	}
	sizes := slices.Clone(groups)
	slices.SortStableFunc(sizes, func(a, b plots.Group) int { return len(b.Values) - len(a.Values) })
	kept := map[string]bool{}
	for _, g := range sizes[:mostGroups] {
		kept[g.Name] = true
	}
	return slices.DeleteFunc(slices.Clone(groups), func(g plots.Group) bool { return !kept[g.Name] })
}

// Median of at least one value.
func Median(values []float64) float64 {
	v := slices.Sorted(slices.Values(values))
	return (v[(len(v)-1)/2] + v[len(v)/2]) / 2
}
