package report

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"gristmark/internal/advice"
	"gristmark/internal/result"
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
	fmt.Fprintf(b, "%s %s\n", paint.bold("Kernel processing:"), paint.verdict(s.Verdict.Kernels, strings.ToUpper(verdictWords(s.Verdict.Kernels))))
	if k.Passing475Pct == nil {
		b.WriteString(hang("  ", "too few kernel pieces to estimate the share that passes 4.75 mm"))
		return
	}
	text := interval(*k.Passing475Pct) + " % of the kernel mass would pass 4.75 mm"
	b.WriteString(hang("  ", text+targetText(*k.Passing475Pct, s.Verdict.Kernels, set)))
	b.WriteString(hang("  ", basisText(k)))
}

// basisText says what the share that passes rests on; of a corrected one, what the outlines alone say too.
func basisText(k *result.Kernels) string {
	if k.Outlines475Pct == nil {
		return "from outlines, not corrected to a laboratory: an estimate, at 95 %, not a laboratory result"
	}
	return k.Basis + "; outlines alone say " + interval(*k.Outlines475Pct) + " %"
}

// targetText says where the share that passes stands to its target.
func targetText(e result.Estimate, verdict *string, set advice.TargetSet) string {
	l, ok := set.Line(advice.PassingPct)
	if !ok {
		return ""
	}
	text := "; target " + l.Range()
	switch {
	case verdict != nil && *verdict == result.Undecided:
		text += ", which the interval straddles"
	case l.PoorBelow != nil && e.High < *l.PoorBelow:
		text += fmt.Sprintf(", under %g %s is poor", *l.PoorBelow, l.Unit)
	}
	return text
}

func writePieces(b *strings.Builder, s *result.Sample, paint Paint) {
	p := s.Pieces
	if p == nil {
		return
	}
	fmt.Fprintf(b, "%s %s\n", paint.bold("Length of chop:"), paint.verdict(s.Verdict.Pieces, strings.ToUpper(verdictWords(s.Verdict.Pieces))))
	if p.GeometricMeanMM == nil {
		b.WriteString(hang("  ", "too few pieces of stover to estimate their length"))
		return
	}
	text := "geometric mean length " + interval(*p.GeometricMeanMM) + " mm, weighted by area"
	if p.GeometricSD != nil {
		text += fmt.Sprintf("; geometric s.d. %.2f", *p.GeometricSD)
	}
	b.WriteString(hang("  ", text))
}

func writeAdvice(b *strings.Builder, list []result.Advice, paint Paint) {
	if len(list) == 0 {
		return
	}
	b.WriteString("\n" + paint.bold("What to change") + "\n")
	said := map[string]bool{}
	for i, a := range list {
		b.WriteString(hang(fmt.Sprintf("  %d. ", i+1), a.Do))
		for _, line := range [][2]string{{"Why: ", a.Why}, {"Check: ", unsaid(a.Check, said)}, {"Caution: ", unsaid(a.Caution, said)}} {
			if line[1] != "" {
				b.WriteString(hang("     "+line[0], line[1]))
			}
		}
	}
}

// unsaid is the text, "as above" in place of sentences that were said before.
func unsaid(text string, said map[string]bool) string {
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
		fresh = append([]string{"as above."}, fresh...)
	}
	return strings.Join(fresh, " ")
}

// label is the width of the names in front of figures.
const label = 13

func writeFigures(b *strings.Builder, s *result.Sample, photos []result.Photo, set advice.TargetSet, paint Paint) {
	b.WriteString("\n")
	row := func(name, text string) {
		b.WriteString(paint.bold(name) + hang(pad(name, label), text)[len(name):])
	}
	row("Counted", countedText(s, photos))
	if k := s.Kernels; k != nil && k.WholePct != nil {
		row("Whole", interval(*k.WholePct)+" % of the kernel pieces are whole kernels")
	}
	if k := s.Kernels; k != nil && k.SmallestMM > 0 {
		row("Smallest", fmt.Sprintf("%s mm counted; an unbroken kernel is taken as %.0f mm² (%s)", number(k.SmallestMM), k.UnbrokenAreaMM2, k.UnbrokenFrom))
	}
	p := s.Pieces
	if p != nil && p.LengthClassesPct != nil {
		c := p.LengthClassesPct
		row("Length", fmt.Sprintf("over 19 mm %.0f %%, 8 to 19 mm %.0f %%, 4 to 8 mm %.0f %%, under 4 mm %.0f %% of stover area", c.Over19, c.From8, c.From4, c.Under4))
	}
	if p != nil && p.BoxPct != nil {
		row("Sieve box", boxText(p.BoxPct, set))
	}
	if s.State != "" {
		row("State", s.State)
	}
	if s.Verdict.Targets != "" {
		row("Targets", s.Verdict.Targets)
	}
}

func countedText(s *result.Sample, photos []result.Photo) string {
	var parts []string
	if k := s.Kernels; k != nil {
		parts = append(parts, count(k.Whole, "whole kernel"), count(k.Broken, "broken kernel"))
	}
	if p := s.Pieces; p != nil {
		parts = append(parts, fmt.Sprintf("%s of stover", count(p.N, "piece")))
	}
	if n := unsure(photos); n > 0 {
		parts = append(parts, fmt.Sprintf("%d unsure, counted by their probabilities", n))
	}
	if len(parts) == 0 {
		return "nothing"
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

func boxText(box *result.BoxShares, set advice.TargetSet) string {
	var parts []string
	for _, sieve := range []struct {
		name    string
		e       result.Estimate
		measure string
	}{{"top", box.Top, advice.TopPct}, {"middle", box.Middle, advice.MiddlePct}, {"lower", box.Lower, advice.LowerPct}, {"pan", box.Pan, advice.PanPct}} {
		text := fmt.Sprintf("%s %s %%", sieve.name, interval(sieve.e))
		if l, ok := set.Line(sieve.measure); ok && set.Box == "19-8-4" {
			text += ", target " + l.Range()
		}
		parts = append(parts, text)
	}
	return "modelled for 19, 8, 4 mm: " + strings.Join(parts, "; ")
}

func writePhotos(b *strings.Builder, photos []result.Photo, folder string, paint Paint) {
	if len(photos) == 0 {
		return
	}
	b.WriteString("\n" + paint.bold("Photos"))
	if folder != "" {
		b.WriteString(" in " + folder)
	}
	b.WriteString("\n")
	for _, p := range photos {
		b.WriteString(hang("  ", within(folder, photoText(p))))
		for _, c := range p.Checks {
			if !c.OK && p.Status == result.Measured {
				b.WriteString(hang("    ! ", fmt.Sprintf("%s %s %s, limit %s: %s", c.Name, number(c.Value), unit(c.Unit), number(c.Limit), c.Advice)))
			}
		}
	}
}

func unit(u string) string {
	if u == "1" {
		return ""
	}
	return u
}

func photoText(p result.Photo) string {
	switch {
	case p.Status == result.Refused:
		return p.File + ": refused"
	case p.DuplicateOf != "":
		return p.File + ": the same file as " + p.DuplicateOf + ", counted once"
	}
	text := p.File + ": " + count(len(p.Particles), "particle")
	if s := p.Scale; s != nil {
		text += fmt.Sprintf(", %.4f mm/px ± %.1f %% from %s, tilt %.0f°", s.MMPerPx, 100*s.RelativeSD, scaleWords(s.From), s.TiltDeg)
	}
	if n := passed(p.Checks); n > 0 {
		text += fmt.Sprintf(", %s passed", count(n, "check"))
	}
	if p.SameSpreadAs != "" {
		text += "; shows the same spread as " + p.SameSpreadAs + ", pooled with it"
	}
	return text
}

func scaleWords(from string) string {
	if from == "given" {
		return "the number given"
	}
	return "the " + from
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
	b.WriteString("\n" + paint.bold(title) + "\n")
	for _, text := range list {
		b.WriteString(hang("  - ", within(folder, text)))
	}
}
