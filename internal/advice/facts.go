package advice

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"gristmark/internal/result"
)

// Facts that rules may ask for and name.
var (
	wordFacts   = []string{"material", "process", "state", "kernels", "pieces", "coarse", "fine"}
	numberFacts = []string{"dm_pct", "tloc_mm", "roll_gap_mm", "speed_diff_pct", "knife_hours", "throughput_tph", "passing_pct", "passing_low", "passing_high", "mark_pct"}
)

// facts is what is known, in the names that rules use.
type facts struct {
	words   map[string]string
	numbers map[string]float64
}

func gather(s *result.Sample, v result.Verdict, found []Finding, ctx Context, set TargetSet) facts {
	chop := ChopOf(found)
	f := facts{
		words: map[string]string{
			"material": set.Material,
			"process":  cmp.Or(ctx.Process, set.Process),
			"state":    cmp.Or(ctx.State, Fresh),
			"kernels":  word(v.Kernels),
			"pieces":   word(v.Pieces),
			"coarse":   yesNo(chop.Coarse),
			"fine":     yesNo(chop.Fine),
		},
		numbers: map[string]float64{},
	}
	for name, v := range map[string]*float64{"dm_pct": ctx.DMPct, "tloc_mm": ctx.TLOCMM, "roll_gap_mm": ctx.RollGapMM,
		"speed_diff_pct": ctx.SpeedDiffPct, "knife_hours": ctx.KnifeHours, "throughput_tph": ctx.ThroughputTPH} {
		if v != nil {
			f.numbers[name] = *v
		}
	}
	l, _ := set.Line(PassingPct)
	if l, known := l.At(ctx.DMPct); known && l.Min != nil && s != nil && s.Kernels != nil && s.Kernels.Passing475Pct != nil {
		e := s.Kernels.Passing475Pct
		maps.Copy(f.numbers, map[string]float64{"passing_pct": e.Value, "passing_low": e.Low, "passing_high": e.High, "mark_pct": *l.Min})
	}
	return f
}

func word(v *string) string {
	if v == nil {
		return "none"
	}
	return *v
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// hold reports whether the condition on a fact holds.
func (f facts) hold(fact string, c condition) bool {
	if c.Words != nil {
		return slices.Contains(c.Words, f.words[fact])
	}
	v, known := f.numbers[fact]
	if !known {
		return c.OrUnknown || (c.Known != nil && !*c.Known)
	}
	return (c.Known == nil || *c.Known) &&
		(c.Above == nil || v > *c.Above) && (c.Below == nil || v < *c.Below) &&
		(c.AtLeast == nil || v >= *c.AtLeast) && (c.AtMost == nil || v <= *c.AtMost)
}

// words are the facts as sentences print them.
func (f facts) print(found []Finding) map[string]string {
	out := maps.Clone(f.words)
	for name, v := range f.numbers {
		if strings.HasPrefix(name, "passing_") {
			out[name] = fmt.Sprintf("%.0f", v)
			continue
		}
		out[name] = plain(v)
	}
	out["coarse_by"] = evidence(found, true, false)
	out["fine_by"] = evidence(found, false, true)
	out["off_by"] = evidence(found, true, true)
	return out
}

// plain prints a number with one decimal at most, none where it is whole.
func plain(v float64) string {
	return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64)
}

var measureWords = map[string]string{
	LengthOverCut: "mean length over length of cut", TopPct: "top box", MiddlePct: "middle box", LowerPct: "lower box",
	PanPct: "pan", TopMiddlePct: "top and middle together",
}

// evidence names the lines that show the chop too coarse or too fine: "top box 12 %, target 3 to 8 %".
func evidence(found []Finding, coarse, fine bool) string {
	var parts []string
	for _, f := range found {
		c := ChopOf([]Finding{f})
		if (c.Coarse && coarse) || (c.Fine && fine) {
			unit := ""
			if f.Line.Unit == "%" {
				unit = " %"
			}
			parts = append(parts, fmt.Sprintf("%s %s%s, target %s", measureWords[f.Line.Measure], plain(f.Estimate.Value), unit, f.Line.Range()))
		}
	}
	return strings.Join(parts, "; ")
}
