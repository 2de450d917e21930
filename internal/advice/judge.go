package advice

import (
	"gristmark/internal/result"
)

// Side tells where an interval lies against a target range.
type Side int

// The sides. Unsure is the zero value: an absent or straddling interval decides nothing.
const (
	Unsure Side = iota
	Below       // the whole interval below Min
	Within      // the whole interval in Min..Max, ends included
	Above       // the whole interval above Max
)

// String names the side as a verdict word.
func (s Side) String() string {
	return [...]string{result.Undecided, result.ShortOfTarget, result.OnTarget, result.OverTarget}[s]
}

// Place holds the interval low..high against the line.
func (l Line) Place(low, high float64) Side {
	switch {
	case l.Min != nil && high < *l.Min:
		return Below
	case l.Max != nil && low > *l.Max:
		return Above
	case (l.Min == nil || low >= *l.Min) && (l.Max == nil || high <= *l.Max):
		return Within
	}
	return Unsure
}

// Finding is one measure held against its target line.
type Finding struct {
	Line     Line
	Estimate result.Estimate
	Side     Side
}

// Findings lists what of the sample and its context has a target line, in a fixed order: kernels,
// length against the length of cut, boxes. The length is judged only where the length of cut is known, and a line that shifts with
// dry matter only where that is known.
func Findings(s *result.Sample, ctx Context, set TargetSet) []Finding {
	var out []Finding
	add := func(measure string, e *result.Estimate) {
		l, ok := set.Line(measure)
		if !ok || e == nil {
			return
		}
		if l, ok = l.At(ctx.DMPct); ok {
			out = append(out, Finding{Line: l, Estimate: *e, Side: l.Place(e.Low, e.High)})
		}
	}
	if s == nil {
		return nil
	}
	if s.Kernels != nil {
		add(PassingPct, s.Kernels.Passing475Pct)
	}
	if p := s.Pieces; p != nil {
		add(LengthOverCut, lengthOverCut(p.GeometricMeanMM, ctx.TLOCMM))
		if b := p.BoxPct; b != nil && set.Box == "19-8-4" {
			add(TopPct, &b.Top)
			add(MiddlePct, &b.Middle)
			add(LowerPct, &b.Lower)
			add(PanPct, &b.Pan)
		}
	}
	return out
}

func lengthOverCut(length *result.Estimate, cut *float64) *result.Estimate {
	if length == nil || cut == nil || *cut <= 0 {
		return nil
	}
	return &result.Estimate{Value: length.Value / *cut, Low: length.Low / *cut, High: length.High / *cut, Level: length.Level}
}

// Judge holds a sample against a target set and names at most three changes, most effective first.
//
// Kernels, from passing_4_75_pct: on_target when the whole interval is at or above the mark,
// short_of_target when all of it is below, else undecided.
//
// Pieces, from the modelled box content against the box lines and from the geometric mean length
// over the length of cut (where that is known) against its line; see [JudgePieces].
//
// A verdict is nil where nothing can be judged; the list of advice is never nil.
func Judge(s *result.Sample, ctx Context, set TargetSet) (result.Verdict, []result.Advice) {
	f := Findings(s, ctx, set)
	v := result.Verdict{Kernels: judgeKernels(f), Pieces: JudgePieces(f), Targets: set.Name}
	return v, advise(s, v, f, ctx, set)
}

func judgeKernels(findings []Finding) *string {
	for _, f := range findings {
		if f.Line.Measure == PassingPct {
			word := f.Side.String()
			return &word
		}
	}
	return nil
}

// Chop says which way the length of the pieces misses its targets.
type Chop struct {
	Coarse, Fine bool // decided by at least one line
	Judged       int  // lines held against a target
	Within       int  // of them, decided as within
}

// ChopOf sums up the findings on length and boxes. Too coarse: the top box or the length of stover wholly
// above its range, or the pan wholly below. Too fine: the top box, the two upper boxes together or the
// length wholly below, or the lower box or the pan wholly above. The middle box only speaks for "within":
// alone it does not tell which way the chop is off.
func ChopOf(findings []Finding) Chop {
	var c Chop
	for _, f := range findings {
		switch f.Line.Measure {
		case TopPct, LengthOverCut, TopMiddlePct:
			c.Coarse = c.Coarse || f.Side == Above
			c.Fine = c.Fine || f.Side == Below
		case LowerPct, PanPct:
			c.Fine = c.Fine || f.Side == Above
			c.Coarse = c.Coarse || (f.Side == Below && f.Line.Measure == PanPct)
		case MiddlePct:
		default:
			continue
		}
		c.Judged++
		if f.Side == Within {
			c.Within++
		}
	}
	return c
}

// JudgePieces gives the verdict on chop length: over_target when something shows the chop too coarse
// and nothing too fine, short_of_target the other way round, on_target when every line judged lies
// wholly within its range, else undecided. That covers an interval that straddles a limit, a chop that is
// too coarse and too fine at once (uneven), and a middle box that is off by itself. Nil when no
// line could be judged.
func JudgePieces(findings []Finding) *string {
	c := ChopOf(findings)
	word := result.Undecided
	switch {
	case c.Judged == 0:
		return nil
	case c.Coarse && !c.Fine:
		word = result.OverTarget
	case c.Fine && !c.Coarse:
		word = result.ShortOfTarget
	case c.Within == c.Judged:
		word = result.OnTarget
	}
	return &word
}

// JudgeShares holds weighed box shares, by measure name (TopPct and so on), against the set's lines and
// gives the findings, the verdict on length as [JudgePieces] does, and at most three changes. A share without
// a known uncertainty has Low, High and Value equal: it decides for the one shake that was weighed.
func JudgeShares(shares map[string]result.Estimate, ctx Context, set TargetSet) ([]Finding, result.Verdict, []result.Advice) {
	var found []Finding
	for _, m := range measures {
		e, ok := shares[m]
		l, has := set.Line(m)
		if l, known := l.At(ctx.DMPct); ok && has && known {
			found = append(found, Finding{Line: l, Estimate: e, Side: l.Place(e.Low, e.High)})
		}
	}
	v := result.Verdict{Pieces: JudgePieces(found), Targets: set.Name}
	return found, v, advise(nil, v, found, ctx, set)
}
