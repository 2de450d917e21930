package web

import (
	"fmt"
	"math"
	"strconv"

	"gristmark/internal/advice"
	"gristmark/internal/result"
)

// verdictView is one judgement as the page shows it: the word, the number, its interval against the target.
type verdictView struct {
	Topic, Class, Icon, Words string
	Number, Unit, Of          string
	Range, Target, Basis      string
	Bar                       *barView
}

// look is how a judgement is shown: class, icon and words say the same.
type look struct{ class, icon, words string }

func (c *call) kernelLook(v *string) look {
	switch word(v) {
	case result.OnTarget:
		return look{"good", "ring", c.t("Kernels are broken well")}
	case result.ShortOfTarget:
		return look{"short", "low", c.t("Kernels are too coarse")}
	case result.OverTarget:
		return look{"over", "high", c.t("Kernels are broken more than asked")}
	case result.Undecided:
		return look{"doubt", "doubt", c.t("Kernels: too close to call")}
	}
	return look{"none", "doubt", c.t("Kernels: not judged")}
}

func (c *call) pieceLook(v *string) look {
	switch word(v) {
	case result.OnTarget:
		return look{"good", "ring", c.t("Length is on target")}
	case result.ShortOfTarget:
		return look{"short", "low", c.t("Chop is too short")}
	case result.OverTarget:
		return look{"over", "high", c.t("Chop is too long")}
	case result.Undecided:
		return look{"doubt", "doubt", c.t("Length: too close to call")}
	}
	return look{"none", "doubt", c.t("Length: not judged")}
}

func word(v *string) string {
	if v == nil {
		return ""
	}
	return *v
}

// verdicts are the judgements of a sample, those that there is something to say of.
func (c *call) verdicts(s *result.Sample, set advice.TargetSet, tloc *float64) []verdictView {
	if s == nil {
		return nil
	}
	var out []verdictView
	if s.Kernels != nil && s.Kernels.Passing475Pct != nil {
		out = append(out, c.kernelVerdict(s, set))
	}
	if s.Pieces != nil && s.Pieces.GeometricMeanMM != nil {
		out = append(out, c.pieceVerdict(s, set, tloc))
	}
	return out
}

func (c *call) kernelVerdict(s *result.Sample, set advice.TargetSet) verdictView {
	e, l := *s.Kernels.Passing475Pct, c.kernelLook(s.Verdict.Kernels)
	v := verdictView{Topic: c.t("Kernel processing"), Class: l.class, Icon: l.icon, Words: l.words, Number: c.figure(e.Value), Unit: "%",
		Of: c.t("of kernel mass through 4.75 mm"), Range: c.between(e, "%")}
	if s.Kernels.Basis != "" {
		v.Basis = upper(c.in.words.Say(s.Kernels.Basis)) + "."
	}
	line, _ := set.Line(advice.PassingPct)
	v.Bar = c.bar(e, 0, 100, line.Min, line.Max, "%", v.Of)
	if line.Min != nil {
		v.Target = c.t("Target: at least %s %%", c.figure(*line.Min))
	}
	return v
}

func (c *call) pieceVerdict(s *result.Sample, set advice.TargetSet, tloc *float64) verdictView {
	e, l := *s.Pieces.GeometricMeanMM, c.pieceLook(s.Verdict.Pieces)
	v := verdictView{Topic: c.t("Chop length"), Class: l.class, Icon: l.icon, Words: l.words, Number: c.figure(e.Value), Unit: "mm",
		Of: c.t("mean length of stalk and leaf, by area"), Range: c.between(e, "mm")}
	low, high := lengthTarget(set, tloc)
	most := 30.0
	for _, x := range []*float64{&e.High, high} {
		if x != nil {
			most = math.Max(most, 10*math.Ceil(*x*1.1/10))
		}
	}
	v.Bar = c.bar(e, 0, most, low, high, "mm", v.Of)
	switch {
	case low != nil && high != nil:
		v.Target = c.t("Target for this length of cut: %s to %s mm, and the boxes below", c.figure(*low), c.figure(*high))
	case s.Verdict.Pieces != nil:
		v.Target = c.t("Judged by the modelled sieve boxes below")
	}
	return v
}

// lengthTarget is where the mean length should lie, mm; nil where the length of cut is not known.
func lengthTarget(set advice.TargetSet, tloc *float64) (low, high *float64) {
	line, ok := set.Line(advice.LengthOverCut)
	if !ok || tloc == nil {
		return nil, nil
	}
	times := func(v *float64) *float64 {
		if v == nil {
			return nil
		}
		w := *v * *tloc
		return &w
	}
	return times(line.Min), times(line.Max)
}

// figure prints a number as people say it: about three figures, whole from 10 up.
func (c *call) figure(v float64) string {
	decimals := 0
	if math.Abs(v) < 10 {
		decimals = 1
	}
	return c.in.words.Number(v, decimals)
}

func (c *call) between(e result.Estimate, unit string) string {
	if e.Level == 0 || e.High <= e.Low {
		return ""
	}
	return c.t("most likely between %s and %s %s", c.figure(e.Low), c.figure(e.High), unit)
}

// short prints an interval for a list.
func (c *call) short(e result.Estimate) string {
	if e.Level == 0 || e.High <= e.Low {
		return ""
	}
	return c.t("%s to %s", c.figure(e.Low), c.figure(e.High))
}

// barView is a number with its interval and target on a scale, in the drawing's units.
type barView struct {
	Label             string
	X, X0, X1         string
	HasTarget         bool
	T0, T1, TW        string
	MarkLow, MarkHigh bool
	Ticks, Marks      []barText
}

type barText struct{ X, Text, Anchor string }

// bar draws e on the scale least..most with the target low..high; an open end of the target is that of the scale.
func (c *call) bar(e result.Estimate, least, most float64, low, high *float64, unit, of string) *barView {
	at := func(v float64) float64 { return 10 + 380*math.Max(0, math.Min(1, (v-least)/(most-least))) }
	b := &barView{X: px(at(e.Value)), X0: px(at(e.Low)), X1: px(at(e.High))}
	b.Label = fmt.Sprintf("%s %s %s, %s", c.figure(e.Value), unit, of, c.between(e, unit))
	t0, t1 := least, most
	if low != nil {
		t0, b.MarkLow = *low, true
		b.Marks = append(b.Marks, barText{px(at(t0)), c.t("target") + " " + c.figure(t0), "middle"})
	}
	if high != nil {
		t1, b.MarkHigh = *high, true
		b.Marks = append(b.Marks, barText{px(at(t1)), c.figure(t1), "middle"})
	}
	if low != nil || high != nil {
		b.HasTarget, b.T0, b.T1, b.TW = true, px(at(t0)), px(at(t1)), px(math.Max(0, at(t1)-at(t0)))
		b.Label += "; " + c.t("target %s to %s %s", c.figure(t0), c.figure(t1), unit)
	}
	for i := range 5 {
		v := least + (most-least)*float64(i)/4
		anchor := [...]string{"start", "middle", "middle", "middle", "end"}[i]
		text := c.in.words.Trimmed(v, 2)
		if i == 4 {
			text += " " + unit
		}
		b.Ticks = append(b.Ticks, barText{px(at(v)), text, anchor})
	}
	return b
}

func px(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) }

// sum is a judgement in one line, for above a photo.
type sum struct{ Number, Unit, Range, Words, Class, Counts string }

func (c *call) sums(s *result.Sample, set advice.TargetSet, tloc *float64) []sum {
	var out []sum
	for _, v := range c.verdicts(s, set, tloc) {
		one := sum{v.Number, v.Unit, v.Range, v.Words, v.Class, ""}
		if k := s.Kernels; v.Unit == "%" && k != nil {
			one.Counts = c.t("%d whole, %d broken kernels", k.Whole, k.Broken)
		}
		out = append(out, one)
	}
	return out
}

// cell is a figure of a sample in a list of loads.
type cell struct{ Number, Range, Class, Icon string }

func (c *call) passingCell(s *result.Sample) *cell {
	if s == nil || s.Kernels == nil || s.Kernels.Passing475Pct == nil {
		return nil
	}
	l := c.kernelLook(s.Verdict.Kernels)
	return &cell{c.figure(s.Kernels.Passing475Pct.Value) + " %", c.short(*s.Kernels.Passing475Pct), l.class, l.icon}
}

func (c *call) lengthCell(s *result.Sample) *cell {
	if s == nil || s.Pieces == nil || s.Pieces.GeometricMeanMM == nil {
		return nil
	}
	l := c.pieceLook(s.Verdict.Pieces)
	return &cell{c.figure(s.Pieces.GeometricMeanMM.Value) + " mm", c.short(*s.Pieces.GeometricMeanMM), l.class, l.icon}
}
