package compare

import (
	"fmt"
	"io"
	"strings"

	"gristmark/internal/plain"
)

// WriteText prints the comparison for a person, the conclusion first.
func (d *Document) WriteText(w io.Writer) error {
	var b strings.Builder
	b.WriteString(plain.Hang("", d.Conclusion))
	b.WriteString("\n")
	b.WriteString(plain.Hang("A: ", fmt.Sprintf("%s, %d %s", d.A.Label, d.A.Units, unitWords(d.A))))
	b.WriteString(plain.Hang("B: ", fmt.Sprintf("%s, %d %s", d.B.Label, d.B.Units, unitWords(d.B))))
	fmt.Fprintf(&b, "\n%s%s%s%s  %s\n", plain.Left("", 24), plain.Right("A", 8), plain.Right("B", 8), plain.Right("B - A", 9), "95 % interval")
	for _, f := range d.Differences {
		b.WriteString(row(f))
	}
	b.WriteString("\n")
	d.counts(&b)
	b.WriteString(plain.Hang("Method: ", d.Differences[0].Method+"."))
	for _, n := range d.Notes {
		b.WriteString(plain.Hang("Note: ", plain.Upper(n)+"."))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func unitWords(n Name) string {
	if n.Units == 1 {
		return strings.TrimSuffix(n.Kind, "s")
	}
	return n.Kind
}

func row(f Difference) string {
	name := words[f.Measure] + ", %"
	if f.Unit == "mm" {
		name = words[f.Measure] + ", mm"
	}
	interval := "none"
	if f.Difference.Low != nil {
		interval = fmt.Sprintf("%.1f to %.1f", *f.Difference.Low, *f.Difference.High)
	}
	mark := map[string]string{Higher: "  B higher", Lower: "  B lower", Unknown: "  undecided"}[f.Verdict]
	return fmt.Sprintf("%s%s%s%s  %s%s\n", plain.Left(name, 26), plain.Right(fmt.Sprintf("%.1f", f.A), 6), plain.Right(fmt.Sprintf("%.1f", f.B), 8),
		plain.Right(fmt.Sprintf("%+.1f", f.Difference.Value), 9), interval, mark)
}

func (d *Document) counts(b *strings.Builder) {
	c := d.Counts
	if c == nil {
		return
	}
	by := "by Newcombe's interval"
	if c.Small {
		by = "few kernels: the exact test counts"
	}
	b.WriteString(plain.Hang("Whole kernels by count: ", fmt.Sprintf("%d of %d and %d of %d, %s (%s; exact %s).",
		c.WholeA, c.KernelsA, c.WholeB, c.KernelsB, c.Difference.text("points"), by, pText(c.FisherP))))
}

func pText(p float64) string {
	if p < 0.001 {
		return "p under 0.001"
	}
	return fmt.Sprintf("p %.3f", p)
}
