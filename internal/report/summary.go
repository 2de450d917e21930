package report

import (
	"cmp"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"gristmark/internal/advice"
	"gristmark/internal/result"
	"gristmark/internal/words"
)

// Summary writes a sample for a person, at 80 columns: verdict, number and interval, what to change;
// then what was counted, the photos, and what was assumed. Show is that of the command line: of kernels alone or
// pieces alone the other is not spoken of.
func Summary(w io.Writer, doc result.Document, show string, set advice.TargetSet, paint Paint) error {
	var b strings.Builder
	s := doc.Sample
	if s != nil {
		if show != "pieces" {
			writeKernels(&b, s, set, paint)
		}
		if show != "kernels" {
			writePieces(&b, s, paint)
		}
		writeAdvice(&b, s.Advice, paint)
		writeFigures(&b, s, doc.Photos, set, paint)
	}
	folder := commonFolder(doc.Photos)
	writePhotos(&b, doc.Photos, folder, paint)
	if s != nil {
		writeList(&b, "Notes", s.Notes, folder, paint)
	}
	writeList(&b, "Assumed", doc.Assumed, "", paint)
	_, err := io.WriteString(w, b.String())
	return err
}

func writeKernels(b *strings.Builder, s *result.Sample, set advice.TargetSet, paint Paint) {
	k := s.Kernels
	if k == nil {
		return
	}
	say := paint.Words
	fmt.Fprintf(b, "%s %s\n", paint.bold(say.T("Kernel processing:")), paint.verdict(s.Verdict.Kernels, strings.ToUpper(say.Verdict(s.Verdict.Kernels))))
	if k.Passing475Pct == nil {
		b.WriteString(hang("  ", say.T("too few kernel pieces to estimate the share that passes 4.75 mm")))
		return
	}
	text := say.T("%s %% of the kernel mass would pass 4.75 mm", say.Interval(*k.Passing475Pct))
	b.WriteString(hang("  ", text+targetText(*k.Passing475Pct, s.Verdict.Kernels, set, say)))
	b.WriteString(hang("  ", basisText(k, say)))
}

// basisText says what the share that passes rests on; of a corrected one, what the outlines alone say too.
func basisText(k *result.Kernels, say *words.Words) string {
	if k.Outlines475Pct == nil {
		return say.T("from outlines, not corrected to a laboratory: an estimate, at 95 %, not a laboratory result")
	}
	return say.T("%s; outlines alone say %s %%", say.Say(k.Basis), say.Interval(*k.Outlines475Pct))
}

// targetText says where the share that passes stands to its target.
func targetText(e result.Estimate, verdict *string, set advice.TargetSet, say *words.Words) string {
	l, ok := set.Line(advice.PassingPct)
	if !ok {
		return ""
	}
	target := say.Say(l.Range())
	switch {
	case verdict != nil && *verdict == result.Undecided:
		return say.T("; target %s, which the interval straddles", target)
	case l.PoorBelow != nil && e.High < *l.PoorBelow:
		return say.T("; target %s, under %s %s is poor", target, say.Trimmed(*l.PoorBelow, 1), l.Unit)
	}
	return say.T("; target %s", target)
}

func writePieces(b *strings.Builder, s *result.Sample, paint Paint) {
	p := s.Pieces
	if p == nil {
		return
	}
	say := paint.Words
	fmt.Fprintf(b, "%s %s\n", paint.bold(say.T("Length of chop:")), paint.verdict(s.Verdict.Pieces, strings.ToUpper(say.Verdict(s.Verdict.Pieces))))
	if p.GeometricMeanMM == nil {
		b.WriteString(hang("  ", say.T("too few pieces of stover to estimate their length")))
		return
	}
	text := say.T("geometric mean length %s %s, weighted by area", say.LengthInterval(*p.GeometricMeanMM), say.LengthUnit())
	if p.GeometricSD != nil {
		text += say.T("; geometric s.d. %s", say.Number(*p.GeometricSD, 2))
	}
	b.WriteString(hang("  ", text))
}

func writeAdvice(b *strings.Builder, list []result.Advice, paint Paint) {
	if len(list) == 0 {
		return
	}
	say := paint.Words
	b.WriteString("\n" + paint.bold(say.T("What to change")) + "\n")
	said := map[string]bool{}
	for i, a := range list {
		b.WriteString(hang(fmt.Sprintf("  %d. ", i+1), say.Say(a.Do)))
		for _, line := range [][2]string{{say.T("Why:"), say.Say(a.Why)}, {say.T("Check:"), unsaid(say.Say(a.Check), said, say)}, {say.T("Caution:"), unsaid(say.Say(a.Caution), said, say)}} {
			if line[1] != "" {
				b.WriteString(hang("     "+line[0]+" ", line[1]))
			}
		}
	}
}

// unsaid is the text, "as above" in place of sentences that were said before.
func unsaid(text string, said map[string]bool, say *words.Words) string {
	var fresh []string
	again := false
	for _, sentence := range strings.SplitAfter(text, ". ") {
		sentence = strings.TrimSpace(sentence)
		key := strings.TrimSuffix(sentence, ".")
		switch {
		case key == "":
		case said[key]:
			again = true
		default:
			said[key] = true
			fresh = append(fresh, sentence)
		}
	}
	if again {
		fresh = append([]string{say.T("as above.")}, fresh...)
	}
	return strings.Join(fresh, " ")
}

// label is the width of the names in front of figures.
const label = 13

func writeFigures(b *strings.Builder, s *result.Sample, photos []result.Photo, set advice.TargetSet, paint Paint) {
	b.WriteString("\n")
	say := paint.Words
	row := func(name, text string) {
		name = say.T(name)
		b.WriteString(paint.bold(name) + hang(pad(name, label), text)[len(name):])
	}
	row("Counted", countedText(s, photos, say))
	if k := s.Kernels; k != nil && k.WholePct != nil {
		row("Whole", say.T("%s %% of the kernel pieces are whole kernels", say.Interval(*k.WholePct)))
	}
	if k := s.Kernels; k != nil && k.SmallestMM > 0 {
		row("Smallest", say.T("%s counted; an unbroken kernel is taken as %s (%s)", say.Length(k.SmallestMM), say.Area(k.UnbrokenAreaMM2), say.T(k.UnbrokenFrom)))
	}
	p := s.Pieces
	if p != nil && p.LengthClassesPct != nil {
		row("Length", ClassesText(*p.LengthClassesPct, say))
	}
	if p != nil && p.BoxPct != nil {
		row("Sieve box", boxText(p.BoxPct, set, say))
	}
	if s.State != "" {
		row("State", say.T(s.State))
	}
	if s.Verdict.Targets != "" {
		row("Targets", s.Verdict.Targets)
	}
}

// ClassesText says how the stover is spread over the length classes.
func ClassesText(c result.LengthClasses, say *words.Words) string {
	share := func(v float64) string { return say.Number(v, 0) }
	unit := say.LengthUnit()
	return say.T("over %s %s %%, %s to %s %s %%, %s to %s %s %%, under %s %s %% of stover area",
		say.Limit(19)+" "+unit, share(c.Over19), say.Limit(8), say.Limit(19)+" "+unit, share(c.From8),
		say.Limit(4), say.Limit(8)+" "+unit, share(c.From4), say.Limit(4)+" "+unit, share(c.Under4))
}

func countedText(s *result.Sample, photos []result.Photo, say *words.Words) string {
	var parts []string
	if k := s.Kernels; k != nil {
		parts = append(parts, say.T("%d whole kernels", k.Whole), say.T("%d broken kernels", k.Broken))
	}
	if p := s.Pieces; p != nil {
		parts = append(parts, say.T("%d pieces of stover", p.N))
	}
	if n := unsure(photos); n > 0 {
		parts = append(parts, say.T("%d unsure, counted by their probabilities", n))
	}
	if len(parts) == 0 {
		return say.T("nothing")
	}
	return strings.Join(parts, ", ")
}

// unsure counts the pieces without a class in the photos that count by themselves.
func unsure(photos []result.Photo) int {
	n := 0
	for _, p := range photos {
		if p.DuplicateOf != "" || p.SameSpreadAs != "" {
			continue
		}
		for _, q := range p.Particles {
			if q.Class == result.Unsure {
				n++
			}
		}
	}
	return n
}

func boxText(box *result.BoxShares, set advice.TargetSet, say *words.Words) string {
	var parts []string
	for _, sieve := range []struct {
		name    string
		e       result.Estimate
		measure string
	}{{"top", box.Top, advice.TopPct}, {"middle", box.Middle, advice.MiddlePct}, {"lower", box.Lower, advice.LowerPct}, {"pan", box.Pan, advice.PanPct}} {
		text := fmt.Sprintf("%s %s %%", say.T(sieve.name), say.Interval(sieve.e))
		if l, ok := set.Line(sieve.measure); ok && set.Box == "19-8-4" {
			text += say.T(", target %s", say.Say(l.Range()))
		}
		parts = append(parts, text)
	}
	return say.T("modelled for the box of 19, 8, 4 mm: %s", strings.Join(parts, "; "))
}

func writePhotos(b *strings.Builder, photos []result.Photo, folder string, paint Paint) {
	if len(photos) == 0 {
		return
	}
	say := paint.Words
	b.WriteString("\n" + paint.bold(say.T("Photos")))
	if folder != "" {
		b.WriteString(" " + say.T("in %s", folder))
	}
	b.WriteString("\n")
	for _, p := range photos {
		b.WriteString(hang("  ", within(folder, photoText(p, say))))
		for _, c := range p.Checks {
			if !c.OK && p.Status == result.Measured {
				b.WriteString(hang("    ! ", CheckText(c, say)))
			}
		}
	}
}

// CheckText says what a check that failed found, and what to do.
func CheckText(c result.Check, say *words.Words) string {
	unit := say.Say(c.Unit)
	if c.Unit == "1" {
		unit = ""
	}
	value := strings.TrimSpace(say.Figures(c.Value) + " " + unit)
	if c.Advice == "" {
		return say.T("%s %s, limit %s", say.Say(c.Name), value, say.Figures(c.Limit))
	}
	return say.T("%s %s, limit %s: %s", say.Say(c.Name), value, say.Figures(c.Limit), say.Say(c.Advice))
}

func photoText(p result.Photo, say *words.Words) string {
	switch {
	case p.Status == result.Refused:
		return say.T("%s: refused", p.File)
	case p.DuplicateOf != "":
		return say.T("%s: the same file as %s, counted once", p.File, p.DuplicateOf)
	}
	text := p.File + ": " + say.T("%d particles", len(p.Particles))
	if s := p.Scale; s != nil {
		text += ", " + scaleText(s, say)
	}
	if n := passed(p.Checks); n > 0 {
		text += ", " + say.T("%d checks passed", n)
	}
	if p.SameSpreadAs != "" {
		text += say.T("; shows the same spread as %s, pooled with it", p.SameSpreadAs)
	}
	return text
}

// RulerText names what the scale is from: "the card".
func RulerText(from string, say *words.Words) string {
	known := map[string]string{"card": words.K("the card"), "mat": words.K("the mat"), "grid": words.K("the grid"), "rule": words.K("the rule"), "frame": words.K("the frame"), "given": words.K("the number given")}
	return say.T(cmp.Or(known[from], from))
}

func scaleText(s *result.Scale, say *words.Words) string {
	decimals := 4
	if say.Units() == words.US {
		decimals = 5
	}
	return say.T("%s %s/px ± %s %% from %s, tilt %s°", say.Number(say.InLengthUnit(s.MMPerPx), decimals), say.LengthUnit(), say.Number(100*s.RelativeSD, 1), RulerText(s.From, say), say.Number(s.TiltDeg, 0))
}

func passed(checks []result.Check) int {
	n := 0
	for _, c := range checks {
		if c.OK {
			n++
		}
	}
	return n
}

// commonFolder is the folder, with its slash, that all photos share; empty where they share none.
func commonFolder(photos []result.Photo) string {
	folder := ""
	for i, p := range photos {
		dir, _ := filepath.Split(p.File)
		if i > 0 && dir != folder {
			return ""
		}
		folder = dir
	}
	return folder
}

// within leaves the folder out of the text.
func within(folder, text string) string {
	if folder == "" {
		return text
	}
	return strings.ReplaceAll(text, folder, "")
}

func writeList(b *strings.Builder, title string, list []string, folder string, paint Paint) {
	if len(list) == 0 {
		return
	}
	b.WriteString("\n" + paint.bold(paint.Words.T(title)) + "\n")
	for _, text := range list {
		b.WriteString(hang("  - ", within(folder, paint.Words.Say(text))))
	}
}
