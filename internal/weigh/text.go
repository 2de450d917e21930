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
)

var partWords = map[string]string{advice.TopPct: "top", advice.MiddlePct: "middle", advice.LowerPct: "lower", advice.PanPct: "pan", advice.TopMiddlePct: "top and middle together"}

var stackWords = map[sieve.Kind]string{
	sieve.Box: "box of 19, 8 and 4 mm", sieve.OlderBox: "older box of 19, 8 and 1.18 mm", sieve.ThreePart: "box of 19 and 8 mm",
	sieve.FivePart: "box of 19, 8, 4 and 1.18 mm", sieve.S424: "screens of ANSI/ASAE S424.1", sieve.Laboratory: "laboratory sieves",
}

// WriteText prints the document for a person: conclusion, table, figures, what to change.
func (d *Document) WriteText(w io.Writer) error {
	var b strings.Builder
	b.WriteString(plain.Hang("", d.conclusion()))
	b.WriteString("\n")
	d.table(&b)
	d.figures(&b)
	WriteAdvice(&b, d.Advice)
	for _, n := range d.Notes {
		b.WriteString(plain.Hang("Note: ", plain.Upper(n)+"."))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (d *Document) conclusion() string {
	sample := fmt.Sprintf("%s, %s", stackWords[d.Stack], times(d.Shakes))
	if d.Refused != nil {
		return "No verdict: " + strings.TrimPrefix(*d.Refused, "sieve: ") + "."
	}
	if d.Targets == nil || d.Verdict.Pieces == nil {
		return fmt.Sprintf("Geometric mean length %s mm, no verdict: %s.", plain.Number(d.Geometric.MeanMM, 1), sample)
	}
	words := map[string]string{
		result.OnTarget: "On target", result.OverTarget: "Too coarse for its target", result.ShortOfTarget: "Too fine for its target",
		result.Undecided: "Undecided",
	}[*d.Verdict.Pieces]
	if *d.Verdict.Pieces == result.Undecided && d.uneven() {
		words = "Too coarse and too fine at once"
	}
	off := d.off()
	if off != "" {
		off = ": " + off
	}
	return fmt.Sprintf("%s%s. Target set %s; %s.", words, off, d.Targets.Name, sample)
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

func times(shakes int) string {
	if shakes == 1 {
		return "one shake"
	}
	return fmt.Sprintf("%d shakes", shakes)
}

// off lists the shares that miss their targets.
func (d *Document) off() string {
	var parts []string
	for _, f := range d.Findings {
		if f.Side == result.OverTarget || f.Side == result.ShortOfTarget {
			parts = append(parts, fmt.Sprintf("%s %s %% (target %s)", partWords[f.Measure], plain.Number(f.Value, 1), f.Target))
		}
	}
	return strings.Join(parts, ", ")
}

func (d *Document) table(b *strings.Builder) {
	fmt.Fprintf(b, "%s%s%s%s   %s\n", plain.Left("sieve", 12), plain.Right("mass g", 9), plain.Right("share %", 18), plain.Right("finer %", 9), "target")
	for _, f := range d.Fractions {
		mass, finer := plain.Number(f.MassG, 1), "-"
		if d.Given == "share" {
			mass = "-"
		}
		if f.UndersizePct != nil {
			finer = fmt.Sprintf("%.1f", *f.UndersizePct)
		}
		row := plain.Left(f.Sieve, 12) + plain.Right(mass, 9) + plain.Right(shareText(f.SharePct), 18) + plain.Right(finer, 9) + "   " + d.targetOf(f)
		b.WriteString(strings.TrimRight(row, " ") + "\n")
	}
	b.WriteString("\n")
}

func shareText(s sieve.Share) string {
	if s.Low == nil {
		return fmt.Sprintf("%.1f", s.Value)
	}
	return fmt.Sprintf("%.1f (%.1f-%.1f)", s.Value, *s.Low, *s.High)
}

// targetOf names the target of a fraction where the stack's rows are the parts of the box.
func (d *Document) targetOf(f sieve.FractionReport) string {
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
	mark := map[string]string{result.OverTarget: ", above", result.ShortOfTarget: ", below", result.Undecided: ", undecided"}[d.Findings[i].Side]
	return d.Findings[i].Target + mark
}

func (d *Document) figures(b *strings.Builder) {
	g := d.Geometric
	assumed := "as stated"
	if g.TopAssumed {
		assumed = "assumed"
	}
	b.WriteString(plain.Hang("Length: ", fmt.Sprintf("geometric mean %.2f mm, standard deviation a factor of %.2f (%s; mean length on the top sieve %s mm, %s).",
		g.MeanMM, g.SD, g.Method, plain.Number(g.TopLengthMM, 2), assumed)))
	if d.QuickMeanMM != nil {
		b.WriteString(plain.Hang("        ", fmt.Sprintf("%.2f mm by 1.16 + 13.00 f (Armentano & Taysom 2005).", *d.QuickMeanMM)))
	}
	for _, r := range d.RosinRammler {
		quality := fmt.Sprintf("misfit %.1f points", *r.RMSPct)
		if r.R2 != nil {
			quality = fmt.Sprintf("r² %.4f", *r.R2)
		}
		b.WriteString(plain.Hang("Rosin-Rammler: ", fmt.Sprintf("%s: x' %.2f mm, n %.3f, median %.2f mm, %s.", r.Fit, r.ScaleMM, r.N, r.Median, quality)))
	}
	if d.TopTwoPct != nil {
		b.WriteString(plain.Hang("Effective fibre: ", fmt.Sprintf("%s %% on the two upper boxes.", shareText(*d.TopTwoPct))))
	}
	for _, e := range d.PeNDF {
		b.WriteString(plain.Hang("Effective NDF: ", fmt.Sprintf("%.1f %% of dry matter, convention %s (%.1f %% NDF, %.1f %% on the sieves counted).", e.PeNDFPct, e.Convention, e.NDFPct, e.SharePct)))
	}
	if d.Fineness != nil {
		b.WriteString(plain.Hang("As ground feed: ", fmt.Sprintf("%.1f cm² and %.0f particles a gram (cubes of 1.32 g/cm³).", d.Fineness.SurfaceCM2PerG, d.Fineness.ParticlesPerGram)))
	}
	d.recovery(b)
	d.kernels(b)
}

func (d *Document) recovery(b *strings.Builder) {
	r := d.Recovery
	if r == nil {
		return
	}
	verb, pct := "missing", r.LossPct
	if pct < 0 {
		verb, pct = "too much", -pct
	}
	b.WriteString(plain.Hang("Recovered: ", fmt.Sprintf("%s g of %s g, %.1f %% %s (limit %s %%).", plain.Number(r.RecoveredG, 1), plain.Number(r.PutInG, 1), pct, verb, plain.Number(r.LimitPct, 1))))
	if r.DryLossPct != nil {
		b.WriteString(plain.Hang("           ", fmt.Sprintf("dry %s g of %s g, %.1f %% missing.", plain.Number(*r.DryRecovered, 1), plain.Number(*r.DryPutInG, 1), *r.DryLossPct)))
	}
}

func (d *Document) kernels(b *strings.Builder) {
	k := d.Kernels
	if k == nil {
		return
	}
	say := func(what string, e *result.Estimate) {
		if e != nil {
			b.WriteString(plain.Hang(what+": ", fmt.Sprintf("%s a kg of sample, 95 %% %s to %s.", plain.Number(e.Value, 1), plain.Number(e.Low, 1), plain.Number(e.High, 1))))
		}
	}
	say("Whole kernels", k.WholePerKg)
	say("Kernel pieces of half and more", k.LargePerKg)
	for _, f := range k.ByFraction {
		var parts []string
		if f.WholeSharePct != nil {
			parts = append(parts, plain.Number(*f.WholeSharePct, 0)+" % of the whole kernels")
		}
		if f.LargeSharePct != nil {
			parts = append(parts, plain.Number(*f.LargeSharePct, 0)+" % of the large pieces")
		}
		if len(parts) > 0 {
			b.WriteString(plain.Hang("  "+f.Sieve+": ", strings.Join(parts, ", ")+"."))
		}
	}
}

// WriteAdvice prints what to change, most effective first, each with its reason, check and caution.
func WriteAdvice(b *strings.Builder, list []result.Advice) {
	if len(list) == 0 {
		return
	}
	b.WriteString("\nWhat to change\n")
	said := map[string]bool{}
	for i, a := range list {
		b.WriteString(plain.Hang(fmt.Sprintf("%d. ", i+1), a.Do))
		b.WriteString(plain.Hang("   Why: ", a.Why))
		if a.Check != "" && !said[a.Check] {
			b.WriteString(plain.Hang("   Check: ", a.Check))
		}
		if !said[a.Caution] {
			b.WriteString(plain.Hang("   Caution: ", a.Caution))
		}
		said[a.Check], said[a.Caution] = true, true
	}
	b.WriteString("\n")
}
