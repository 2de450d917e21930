package advice

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"
)

// TargetsSchema names the version of the target file.
const TargetsSchema = "gristmark.targets/1"

// The measures that a line of a target set can speak of.
const (
	PassingPct    = "passing_4_75_pct" // share of kernel mass through a square mesh of 4.75 mm, %
	LengthOverCut = "length_over_cut"  // geometric mean length of stover over the length of cut, 1
	TopPct        = "top_pct"          // content of the sieve box, % of mass
	MiddlePct     = "middle_pct"
	LowerPct      = "lower_pct"
	PanPct        = "pan_pct"
	TopMiddlePct  = "top_middle_pct"  // the two upper boxes together, %
	KernelsPerCup = "kernels_per_cup" // whole and half kernels in 0.946 l
	CutMM         = "cut_mm"          // length of cut set on the machine, mm
	DryMatterPct  = "dm_pct"          // dry matter at harvest, %
)

var measures = []string{PassingPct, LengthOverCut, TopPct, MiddlePct, LowerPct, PanPct, TopMiddlePct, KernelsPerCup, CutMM, DryMatterPct}
var materials = []string{"maize-silage", "haylage", "mixed-ration"}
var processes = []string{"conventional", "shredding", "unprocessed", "any"}
var boxes = []string{"19-8-4", "19-8-1.18"}

// Line is one target: a range of one measure. Min and Max are inclusive; nil leaves that side open.
type Line struct {
	Measure   string   `yaml:"measure" json:"measure"`
	Min       *float64 `yaml:"min" json:"min"`
	Max       *float64 `yaml:"max" json:"max"`
	PoorBelow *float64 `yaml:"poor_below" json:"poor_below,omitempty"` // the trade calls less than this poor
	MinByDM   *ByDM    `yaml:"min_by_dm" json:"min_by_dm,omitempty"`   // in place of Min where it shifts with dry matter
	Unit      string   `yaml:"unit" json:"unit"`
	Source    string   `yaml:"source" json:"source"` // citation, or "common practice", or "from memory"
	Note      string   `yaml:"note" json:"note,omitempty"`
}

// ByDM is a limit that shifts with dry matter: Slope times DM, %, plus Offset.
type ByDM struct {
	Slope  float64 `yaml:"slope" json:"slope"`
	Offset float64 `yaml:"offset" json:"offset"`
}

// At is the line for a dry matter, %; ok is false where it shifts with dry matter and that is not known.
func (l Line) At(dmPct *float64) (line Line, ok bool) {
	if l.MinByDM == nil {
		return l, true
	}
	if dmPct == nil {
		return l, false
	}
	v := min(100, max(0, l.MinByDM.Slope**dmPct+l.MinByDM.Offset))
	l.Min = &v
	return l, true
}

// TargetSet is the targets of one material, process, box and use.
type TargetSet struct {
	Name     string `yaml:"name" json:"name"`
	Title    string `yaml:"title" json:"title"`
	Material string `yaml:"material" json:"material"` // maize-silage, haylage, mixed-ration
	Process  string `yaml:"process" json:"process"`   // conventional, shredding, unprocessed, any
	Box      string `yaml:"box" json:"box"`           // openings in mm over the pan: 19-8-4 or 19-8-1.18
	Use      string `yaml:"use" json:"use"`
	Lines    []Line `yaml:"lines" json:"lines"`
}

// Catalogue is all target sets of one file, in its order; never empty once loaded.
type Catalogue struct {
	Schema string      `yaml:"schema" json:"schema"`
	Sets   []TargetSet `yaml:"sets" json:"sets"`
}

//go:embed targets.yaml
var builtinTargets []byte

// Targets returns the built-in catalogue. A fault in it is a fault of the program.
func Targets() Catalogue {
	c, err := LoadTargets(bytes.NewReader(builtinTargets))
	if err != nil {
		panic(err)
	}
	return c
}

// DefaultSet is the built-in set used when nothing is known of the sample: maize silage from
// conventional rolls, judged by the box of 19, 8 and 4 mm.
func DefaultSet() TargetSet { return Targets().Sets[0] }

// LoadTargets reads and validates a target file; a fault names the set and the line.
func LoadTargets(r io.Reader) (Catalogue, error) {
	var c Catalogue
	dec := yaml.NewDecoder(r)
	dec.KnownFields(true)
	if err := dec.Decode(&c); err != nil {
		if errors.Is(err, io.EOF) {
			err = errors.New("the file is empty")
		}
		return Catalogue{}, fmt.Errorf("advice: the target file cannot be read: %w", err)
	}
	if err := c.validate(); err != nil {
		return Catalogue{}, err
	}
	return c, nil
}

// Find returns the set of that name.
func (c Catalogue) Find(name string) (TargetSet, error) {
	for _, s := range c.Sets {
		if s.Name == name {
			return s, nil
		}
	}
	return TargetSet{}, fmt.Errorf("advice: no target set is called %q; there are %s", name, strings.Join(c.Names(), ", "))
}

// Names lists the sets in the order of the file.
func (c Catalogue) Names() []string {
	var names []string
	for _, s := range c.Sets {
		names = append(names, s.Name)
	}
	return names
}

// Pick returns the first set for the material, process and box; an empty word fits any set, and a
// set whose process is "any" fits every process.
func (c Catalogue) Pick(material, process, box string) (TargetSet, error) {
	for _, s := range c.Sets {
		if fits(material, s.Material) && (fits(process, s.Process) || s.Process == "any") && fits(box, s.Box) {
			return s, nil
		}
	}
	return TargetSet{}, fmt.Errorf("advice: no target set for material %q, process %q, box %q; `gristmark targets` lists them", material, process, box)
}

func fits(wanted, have string) bool { return wanted == "" || wanted == have }

// Line returns the line of a measure, and whether the set has one.
func (s TargetSet) Line(measure string) (Line, bool) {
	for _, l := range s.Lines {
		if l.Measure == measure {
			return l, true
		}
	}
	return Line{}, false
}

// Range prints the line's range: "3 to 8 %", "at least 70 %", "at most 10 %".
func (l Line) Range() string {
	unit := ""
	if l.Unit != "1" {
		unit = " " + l.Unit
	}
	switch {
	case l.MinByDM != nil && l.Min == nil:
		return fmt.Sprintf("at least %g × DM %+g%s", l.MinByDM.Slope, l.MinByDM.Offset, unit)
	case l.Min != nil && l.Max != nil && *l.Min == *l.Max:
		return fmt.Sprintf("%g%s", *l.Min, unit)
	case l.Min != nil && l.Max != nil:
		return fmt.Sprintf("%g to %g%s", *l.Min, *l.Max, unit)
	case l.Min != nil:
		return fmt.Sprintf("at least %g%s", *l.Min, unit)
	default:
		return fmt.Sprintf("at most %g%s", *l.Max, unit)
	}
}

func (c Catalogue) validate() error {
	if c.Schema != TargetsSchema {
		return fmt.Errorf("advice: the target file must start with schema: %s, it has %q", TargetsSchema, c.Schema)
	}
	if len(c.Sets) == 0 {
		return errors.New("advice: the target file holds no set")
	}
	seen := map[string]bool{}
	for i, s := range c.Sets {
		if s.Name == "" {
			return fmt.Errorf("advice: set %d of the target file has no name", i+1)
		}
		if seen[s.Name] {
			return fmt.Errorf("advice: the target file has two sets called %q", s.Name)
		}
		seen[s.Name] = true
		if err := s.validate(); err != nil {
			return err
		}
	}
	return nil
}

func (s TargetSet) validate() error {
	words := []struct {
		name, value string
		allowed     []string
	}{{"material", s.Material, materials}, {"process", s.Process, processes}, {"box", s.Box, boxes}}
	for _, w := range words {
		if !slices.Contains(w.allowed, w.value) {
			return fmt.Errorf("advice: set %q has the %s %q; use one of %s", s.Name, w.name, w.value, strings.Join(w.allowed, ", "))
		}
	}
	if len(s.Lines) == 0 {
		return fmt.Errorf("advice: set %q has no line", s.Name)
	}
	seen := map[string]bool{}
	for i, l := range s.Lines {
		if err := l.validate(); err != nil {
			return fmt.Errorf("advice: set %q, line %d: %w", s.Name, i+1, err)
		}
		if seen[l.Measure] {
			return fmt.Errorf("advice: set %q has two lines for %s; keep one", s.Name, l.Measure)
		}
		seen[l.Measure] = true
	}
	return nil
}

func (l Line) validate() error {
	if !slices.Contains(measures, l.Measure) {
		return fmt.Errorf("unknown measure %q; use one of %s", l.Measure, strings.Join(measures, ", "))
	}
	if strings.TrimSpace(l.Source) == "" {
		return fmt.Errorf("%s has no source; cite one or write \"common practice\"", l.Measure)
	}
	if l.Min == nil && l.Max == nil && l.MinByDM == nil {
		return fmt.Errorf("%s has neither min nor max", l.Measure)
	}
	if d := l.MinByDM; d != nil && (l.Min != nil || math.IsNaN(d.Slope+d.Offset) || math.IsInf(d.Slope+d.Offset, 0)) {
		return fmt.Errorf("%s needs either min or min_by_dm, with slope and offset as plain numbers", l.Measure)
	}
	for _, v := range []*float64{l.Min, l.Max, l.PoorBelow} {
		if v != nil && (math.IsNaN(*v) || math.IsInf(*v, 0) || *v < 0) {
			return fmt.Errorf("%s has a limit of %g; limits are 0 or more", l.Measure, *v)
		}
		if v != nil && strings.HasSuffix(l.Measure, "_pct") && *v > 100 {
			return fmt.Errorf("%s has a limit of %g %%, over 100", l.Measure, *v)
		}
	}
	if l.Min != nil && l.Max != nil && *l.Min > *l.Max {
		return fmt.Errorf("%s has min %g above max %g", l.Measure, *l.Min, *l.Max)
	}
	if l.PoorBelow != nil && l.Min != nil && *l.PoorBelow > *l.Min {
		return fmt.Errorf("%s has poor_below %g above min %g", l.Measure, *l.PoorBelow, *l.Min)
	}
	return nil
}

// TargetsYAML is the built-in target file as written.
func TargetsYAML() []byte { return bytes.Clone(builtinTargets) }
