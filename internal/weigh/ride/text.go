package ride

import (
	"io"
	"strings"

	"gristmark/internal/plain"
	"gristmark/internal/result"
	"gristmark/internal/words"
)

func (d *Document) remarks() {
	var unseen, cut []string
	pan := false
	for _, b := range d.Boxes {
		pan = pan || b.OpeningMM == nil
		if !b.counted.seen && b.MassG > 0 {
			unseen = append(unseen, b.Box)
		}
		if b.counted.cut {
			cut = append(cut, b.Box)
		}
	}
	if len(unseen) > 0 && d.LookedAtG > 0 {
		d.Notes = append(d.Notes, "not looked at: "+strings.Join(unseen, ", ")+"; kernels there are not in the sample's figures")
	}
	if !pan {
		d.Notes = append(d.Notes, "no pan was given; a kg of sample is a kg of the boxes given")
	}
	if len(cut) > 0 {
		d.Notes = append(d.Notes, "pieces lie across the edge of the photo or tray in "+strings.Join(cut, ", ")+"; what lies beyond is not counted")
	}
}

// conclude says how much kernel there is and where it rides.
func (d *Document) conclude(say *words.Words) string {
	if d.WholePerKg == nil {
		return say.T("Nothing to judge: no box has a photo that could be measured.")
	}
	text := say.T("%s whole kernels and %s large pieces a %s of sample", perMass(d.WholePerKg.Value, say), perMass(d.LargePerKg.Value, say), say.PerMassUnit())
	where := ""
	for _, b := range d.Boxes {
		if b.OpeningMM == nil || *b.OpeningMM < 6 || *b.OpeningMM > 12 || !b.counted.seen {
			continue
		}
		switch {
		case b.WholeSharePct != nil:
			where = say.T("; %s %% of the whole kernels ride in the %s box, where they should not be", say.Number(*b.WholeSharePct, 0), say.T(b.Box))
		case b.LargeSharePct != nil:
			where = say.T("; no whole kernel was seen, and %s %% of the large pieces ride in the %s box", say.Number(*b.LargeSharePct, 0), say.T(b.Box))
		default:
			where = say.T("; the %s box holds none of them", say.T(b.Box))
		}
		if *b.Whole == 0 && b.WholeSharePct != nil {
			where = say.T("; no whole kernel rides in the %s box", say.T(b.Box))
		}
	}
	return text + where + "."
}

// WriteText prints the document for a person: the conclusion, then a table of the boxes.
func (d *Document) WriteText(w io.Writer, say *words.Words) error {
	var b strings.Builder
	mass := say.PerMassUnit()
	b.WriteString(plain.Hang("", d.conclude(say)) + "\n")
	b.WriteString(plain.Left(say.T("box"), 10) + plain.Right(say.T("mass %s", say.MassUnit()), 9) + plain.Right(say.T("shown %s", say.MassUnit()), 9) + plain.Right(say.T("whole a %s", mass), 20) + plain.Right(say.T("large a %s", mass), 20) + plain.Right(say.T("of all area"), 12) + "\n")
	for _, r := range d.Boxes {
		b.WriteString(strings.TrimRight(plain.Left(say.T(r.Box), 10)+plain.Right(weight(r.MassG, say), 9)+r.cells(say), " ") + "\n")
	}
	b.WriteString("\n")
	if d.WholePerKg != nil {
		b.WriteString(plain.Hang(say.T("Sample:")+" ", say.T("%s whole and %s large a %s, at 95 %%; %s weighed.", interval(d.WholePerKg, say), interval(d.LargePerKg, say), mass, weight(d.TotalG, say)+" "+say.MassUnit())))
	}
	for _, r := range d.Boxes {
		if r.WholeSharePct != nil && r.LargeSharePct != nil {
			b.WriteString(plain.Hang("  "+say.T(r.Box)+": ", say.T("%s %% of the whole kernels, %s %% of the large pieces.", say.Number(*r.WholeSharePct, 0), say.Number(*r.LargeSharePct, 0))))
		}
	}
	if d.State != "" {
		b.WriteString(plain.Hang(say.T("State:")+" ", say.T(d.State)+"."))
	}
	b.WriteString(plain.Hang(say.T("Large:")+" ", say.T("a broken piece of half a kernel and more.")))
	b.WriteString(plain.Hang(say.T("Basis:")+" ", say.Say(d.Basis)+"."))
	for _, n := range d.Notes {
		b.WriteString(plain.Hang(say.T("Note:")+" ", plain.Upper(say.Say(n))+"."))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (r BoxReport) cells(say *words.Words) string {
	if !r.counted.seen {
		return plain.Right("-", 9) + plain.Right(say.T("not looked at"), 20)
	}
	area := "-"
	if r.AreaSharePct != nil {
		area = say.Number(*r.AreaSharePct, 0) + " %"
	}
	return plain.Right(weight(r.ShownG, say), 9) + plain.Right(interval(r.WholePerKg, say), 20) + plain.Right(interval(r.LargePerKg, say), 20) + plain.Right(area, 12)
}

func interval(e *result.Estimate, say *words.Words) string {
	return say.T("%s (%s to %s)", perMass(e.Value, say), perMass(e.Low, say), perMass(e.High, say))
}

// perMass prints a count per kg as one per kg or per lb.
func perMass(perKg float64, say *words.Words) string { return number(say.PerMass(perKg), say) }

// weight prints a mass in g, or in lb.
func weight(g float64, say *words.Words) string {
	if say.Units() == words.US {
		return say.BareMass(g)
	}
	return number(g, say)
}

// number prints about three figures.
func number(v float64, say *words.Words) string {
	if v < 10 {
		return say.Trimmed(v, 1)
	}
	return say.Trimmed(v, 0)
}
