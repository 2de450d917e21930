package weigh

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"gristmark/internal/advice"
	"gristmark/internal/plain"
	"gristmark/internal/result"
	"gristmark/internal/sieve"
	"gristmark/internal/words"
)

var partWords = map[string]string{advice.TopPct: words.K("top"), advice.MiddlePct: words.K("middle"), advice.LowerPct: words.K("lower"), advice.PanPct: words.K("pan"), advice.TopMiddlePct: words.K("top and middle together")}

var stackWords = map[sieve.Kind]string{
	sieve.Box: words.K("box of 19, 8 and 4 mm"), sieve.OlderBox: words.K("older box of 19, 8 and 1.18 mm"), sieve.ThreePart: words.K("box of 19 and 8 mm"),
	sieve.FivePart: words.K("box of 19, 8, 4 and 1.18 mm"), sieve.S424: words.K("screens of ANSI/ASAE S424.1"), sieve.Laboratory: words.K("laboratory sieves"),
}

// WriteText prints the document for a person: conclusion, table, figures, what to change.
func (d *Document) WriteText(w io.Writer, say *words.Words) error {
	var b strings.Builder
	b.WriteString(plain.Hang("", d.conclusion(say)))
	b.WriteString("\n")
	d.table(&b, say)
	d.figures(&b, say)
	WriteAdvice(&b, d.Advice, say)
	for _, n := range d.Notes {
		b.WriteString(plain.Hang(say.T("Note:")+" ", plain.Upper(say.Say(n))+"."))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (d *Document) conclusion(say *words.Words) string {
	sample := say.T(stackWords[d.Stack]) + ", " + say.T("%d shakes", d.Shakes)
	if d.Refused != nil {
		return say.T("No verdict: %s.", say.Say(strings.TrimPrefix(*d.Refused, "sieve: ")))
	}
	if d.Targets == nil || d.Verdict.Pieces == nil {
		return say.T("Geometric mean length %s, no verdict: %s.", say.Length(d.Geometric.MeanMM), sample)
	}
	verdict := map[string]string{
		result.OnTarget: say.T("On target"), result.OverTarget: say.T("Too coarse for its target"), result.ShortOfTarget: say.T("Too fine for its target"),
		result.Undecided: say.T("Undecided"),
	}[*d.Verdict.Pieces]
	if *d.Verdict.Pieces == result.Undecided && d.uneven() {
		verdict = say.T("Too coarse and too fine at once")
	}
	off := d.off(say)
	if off != "" {
		off = ": " + off
	}
	return say.T("%s%s. Target set %s; %s.", verdict, off, d.Targets.Name, sample)
}

// uneven reports whether some shares show the chop too coarse and others too fine.
func (d *Document) uneven() bool {
	coarse, fine := false, false
	for _, f := range d.Findings {
		up := f.Side == result.OverTarget
		down := f.Side == result.ShortOfTarget
		switch f.Measure {
		case advice.TopPct, advice.TopMiddlePct:
			coarse, fine = coarse || up, fine || down
		case advice.LowerPct:
			fine = fine || up
		case advice.PanPct:
			coarse, fine = coarse || down, fine || up
		}
	}
	return coarse && fine
}

// off lists the shares that miss their targets.
func (d *Document) off(say *words.Words) string {
	var parts []string
	for _, f := range d.Findings {
		if f.Side == result.OverTarget || f.Side == result.ShortOfTarget {
			parts = append(parts, say.T("%s %s %% (target %s)", say.T(partWords[f.Measure]), say.Trimmed(f.Value, 1), say.Say(f.Target)))
		}
	}
	return strings.Join(parts, ", ")
}

func (d *Document) table(b *strings.Builder, say *words.Words) {
	fmt.Fprintf(b, "%s%s%s%s   %s\n", plain.Left(say.T("sieve"), 12), plain.Right(say.T("mass %s", say.MassUnit()), 9), plain.Right(say.T("share %"), 18), plain.Right(say.T("finer %"), 9), say.T("target"))
	for _, f := range d.Fractions {
		mass, finer := say.BareMass(f.MassG), "-"
		if d.Given == "share" {
			mass = "-"
		}
		if f.UndersizePct != nil {
			finer = say.Number(*f.UndersizePct, 1)
		}
		row := plain.Left(say.T(f.Sieve), 12) + plain.Right(mass, 9) + plain.Right(shareText(f.SharePct, say), 18) + plain.Right(finer, 9) + "   " + d.targetOf(f, say)
		b.WriteString(strings.TrimRight(row, " ") + "\n")
	}
	b.WriteString("\n")
}

func shareText(s sieve.Share, say *words.Words) string {
	if s.Low == nil {
		return say.Number(s.Value, 1)
	}
	return fmt.Sprintf("%s (%s-%s)", say.Number(s.Value, 1), say.Number(*s.Low, 1), say.Number(*s.High, 1))
}

// targetOf names the target of a fraction where the stack's rows are the parts of the box.
func (d *Document) targetOf(f sieve.FractionReport, say *words.Words) string {
	if d.Stack != sieve.Box && d.Stack != sieve.OlderBox && d.Stack != sieve.ThreePart {
		return ""
	}
	measure := advice.PanPct
	if f.OpeningMM != nil {
		switch {
		case *f.OpeningMM > 15:
			measure = advice.TopPct
		case *f.OpeningMM > 6:
			measure = advice.MiddlePct
		default:
			measure = advice.LowerPct
		}
	}
	i := slices.IndexFunc(d.Findings, func(g Finding) bool { return g.Measure == measure })
	if i < 0 {
		return ""
	}
	mark := map[string]string{result.OverTarget: say.T(", above"), result.ShortOfTarget: say.T(", below"), result.Undecided: say.T(", undecided")}[d.Findings[i].Side]
	return say.Say(d.Findings[i].Target) + mark
}

func (d *Document) figures(b *strings.Builder, say *words.Words) {
	g := d.Geometric
	assumed := say.T("as stated")
	if g.TopAssumed {
		assumed = say.T("assumed")
	}
	b.WriteString(plain.Hang(say.T("Length:")+" ", say.T("geometric mean %s, standard deviation a factor of %s (%s; mean length on the top sieve %s, %s).",
		fine(g.MeanMM, say), say.Number(g.SD, 2), say.Say(g.Method), fine(g.TopLengthMM, say), assumed)))
	if d.QuickMeanMM != nil {
		b.WriteString(plain.Hang("        ", say.T("%s by 1.16 + 13.00 f (Armentano & Taysom 2005).", fine(*d.QuickMeanMM, say))))
	}
	for _, r := range d.RosinRammler {
		quality := say.T("misfit %s points", say.Number(*r.RMSPct, 1))
		if r.R2 != nil {
			quality = "r² " + say.Number(*r.R2, 4)
		}
		b.WriteString(plain.Hang("Rosin-Rammler: ", say.T("%s: x' %s, n %s, median %s, %s.", say.T(r.Fit), fine(r.ScaleMM, say), say.Number(r.N, 3), fine(r.Median, say), quality)))
	}
	if d.TopTwoPct != nil {
		b.WriteString(plain.Hang(say.T("Effective fibre:")+" ", say.T("%s %% on the two upper boxes.", shareText(*d.TopTwoPct, say))))
	}
	for _, e := range d.PeNDF {
		b.WriteString(plain.Hang(say.T("Effective NDF:")+" ", say.T("%s %% of dry matter, convention %s (%s %% NDF, %s %% on the sieves counted).", say.Number(e.PeNDFPct, 1), say.Metric().Say(e.Convention), say.Number(e.NDFPct, 1), say.Number(e.SharePct, 1))))
	}
	if d.Fineness != nil {
		b.WriteString(plain.Hang(say.T("As ground feed:")+" ", say.T("%s cm² and %s particles a gram (cubes of 1.32 g/cm³).", say.Number(d.Fineness.SurfaceCM2PerG, 1), say.Number(d.Fineness.ParticlesPerGram, 0))))
	}
	d.recovery(b, say)
	d.kernels(b, say)
}

// fine prints a length with two decimals in mm, three in inches.
func fine(mm float64, say *words.Words) string {
	decimals := 2
	if say.Units() == words.US {
		decimals = 3
	}
	return say.Number(say.InLengthUnit(mm), decimals) + " " + say.LengthUnit()
}

func (d *Document) recovery(b *strings.Builder, say *words.Words) {
	r := d.Recovery
	if r == nil {
		return
	}
	form, pct := words.K("%s of %s, %s %% missing (limit %s %%)."), r.LossPct
	if pct < 0 {
		form, pct = words.K("%s of %s, %s %% too much (limit %s %%)."), -pct
	}
	b.WriteString(plain.Hang(say.T("Recovered:")+" ", say.T(form, say.Mass(r.RecoveredG), say.Mass(r.PutInG), say.Number(pct, 1), say.Trimmed(r.LimitPct, 1))))
	if r.DryLossPct != nil {
		b.WriteString(plain.Hang("           ", say.T("dry %s of %s, %s %% missing.", say.Mass(*r.DryRecovered), say.Mass(*r.DryPutInG), say.Number(*r.DryLossPct, 1))))
	}
}

func (d *Document) kernels(b *strings.Builder, say *words.Words) {
	k := d.Kernels
	if k == nil {
		return
	}
	tell := func(what string, e *result.Estimate) {
		if e != nil {
			n := func(v float64) string { return say.Trimmed(say.PerMass(v), 1) }
			b.WriteString(plain.Hang(what+" ", say.T("%s a %s of sample, 95 %% %s to %s.", n(e.Value), say.PerMassUnit(), n(e.Low), n(e.High))))
		}
	}
	tell(say.T("Whole kernels:"), k.WholePerKg)
	tell(say.T("Kernel pieces of half and more:"), k.LargePerKg)
	for _, f := range k.ByFraction {
		var parts []string
		if f.WholeSharePct != nil {
			parts = append(parts, say.T("%s %% of the whole kernels", say.Number(*f.WholeSharePct, 0)))
		}
		if f.LargeSharePct != nil {
			parts = append(parts, say.T("%s %% of the large pieces", say.Number(*f.LargeSharePct, 0)))
		}
		if len(parts) > 0 {
			b.WriteString(plain.Hang("  "+say.T(f.Sieve)+": ", strings.Join(parts, ", ")+"."))
		}
	}
}

// WriteAdvice prints what to change, most effective first, each with its reason, check and caution.
func WriteAdvice(b *strings.Builder, list []result.Advice, say *words.Words) {
	if len(list) == 0 {
		return
	}
	b.WriteString("\n" + say.T("What to change") + "\n")
	said := map[string]bool{}
	for i, a := range list {
		b.WriteString(plain.Hang(fmt.Sprintf("%d. ", i+1), say.Say(a.Do)))
		b.WriteString(plain.Hang("   "+say.T("Why:")+" ", say.Say(a.Why)))
		if a.Check != "" && !said[a.Check] {
			b.WriteString(plain.Hang("   "+say.T("Check:")+" ", say.Say(a.Check)))
		}
		if !said[a.Caution] {
			b.WriteString(plain.Hang("   "+say.T("Caution:")+" ", say.Say(a.Caution)))
		}
		said[a.Check], said[a.Caution] = true, true
	}
	b.WriteString("\n")
}
