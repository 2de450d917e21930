package compare

import (
	"fmt"
	"io"
	"strings"

	"gristmark/internal/plain"
	"gristmark/internal/words"
)

// WriteText prints the comparison for a person, the conclusion first.
func (d *Document) WriteText(w io.Writer, say *words.Words) error {
	var b strings.Builder
	b.WriteString(plain.Hang("", conclude(d, say)))
	b.WriteString("\n")
	b.WriteString(plain.Hang("A: ", d.A.Label+", "+unitCount(d.A.Units, d.A.Kind, say)))
	b.WriteString(plain.Hang("B: ", d.B.Label+", "+unitCount(d.B.Units, d.B.Kind, say)))
	fmt.Fprintf(&b, "\n%s%s%s%s  %s\n", plain.Left("", 24), plain.Right("A", 8), plain.Right("B", 8), plain.Right("B - A", 9), say.T("95 % interval"))
	for _, f := range d.Differences {
		b.WriteString(row(f, say))
	}
	b.WriteString("\n")
	d.counts(&b, say)
	b.WriteString(plain.Hang(say.T("Method:")+" ", say.Say(d.Differences[0].Method)+"."))
	for _, n := range d.Notes {
		b.WriteString(plain.Hang(say.T("Note:")+" ", plain.Upper(say.Say(n))+"."))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// unitCount is "1 photo", "3 shakes".
func unitCount(n int, kind string, say *words.Words) string {
	if kind == Shakes {
		return say.T("%d shakes", n)
	}
	return say.T("%d photos", n)
}

func row(f Difference, say *words.Words) string {
	name := say.T(measureWords[f.Measure]) + ", %"
	if f.Unit == "mm" {
		name = say.T(measureWords[f.Measure]) + ", " + say.LengthUnit()
	}
	in, decimals := scale(f.Unit, say)
	n := func(v float64) string { return say.Number(in(v), decimals) }
	interval := say.T("none")
	if f.Difference.Low != nil {
		interval = say.T("%s to %s", n(*f.Difference.Low), n(*f.Difference.High))
	}
	mark := map[string]string{Higher: say.T("B higher"), Lower: say.T("B lower"), Unknown: say.T("undecided")}[f.Verdict]
	line := plain.Left(name, 26) + plain.Right(n(f.A), 6) + plain.Right(n(f.B), 8) + plain.Right(say.Signed(in(f.Difference.Value), decimals), 9)
	return strings.TrimRight(line+"  "+interval+"  "+mark, " ") + "\n"
}

func (d *Document) counts(b *strings.Builder, say *words.Words) {
	c := d.Counts
	if c == nil {
		return
	}
	by := say.T("by Newcombe's interval")
	if c.Small {
		by = say.T("few kernels: the exact test counts")
	}
	b.WriteString(plain.Hang(say.T("Whole kernels by count:")+" ", say.T("%d of %d and %d of %d, %s (%s; exact %s).",
		c.WholeA, c.KernelsA, c.WholeB, c.KernelsB, c.Difference.text("points", say), by, pText(c.FisherP, say))))
}

func pText(p float64, say *words.Words) string {
	if p < 0.001 {
		return say.T("p under %s", say.Number(0.001, 3))
	}
	return say.T("p %s", say.Number(p, 3))
}
