package ride

import (
	"fmt"
	"io"
	"strings"

	"gristmark/internal/plain"
	"gristmark/internal/result"
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
func (d *Document) conclude() string {
	if d.WholePerKg == nil {
		return "Nothing to judge: no box has a photo that could be measured."
	}
	text := fmt.Sprintf("%s whole kernels and %s large pieces a kg of sample", number(d.WholePerKg.Value), number(d.LargePerKg.Value))
	where := ""
	for _, b := range d.Boxes {
		if b.OpeningMM == nil || *b.OpeningMM < 6 || *b.OpeningMM > 12 || !b.counted.seen {
			continue
		}
		switch {
		case b.WholeSharePct != nil:
			where = fmt.Sprintf("; %.0f %% of the whole kernels ride in the %s box, where they should not be", *b.WholeSharePct, b.Box)
		case b.LargeSharePct != nil:
			where = fmt.Sprintf("; no whole kernel was seen, and %.0f %% of the large pieces ride in the %s box", *b.LargeSharePct, b.Box)
		default:
			where = fmt.Sprintf("; the %s box holds none of them", b.Box)
		}
		if *b.Whole == 0 && b.WholeSharePct != nil {
			where = fmt.Sprintf("; no whole kernel rides in the %s box", b.Box)
		}
	}
	return text + where + "."
}

// WriteText prints the document for a person: the conclusion, then a table of the boxes.
func (d *Document) WriteText(w io.Writer) error {
	var b strings.Builder
	b.WriteString(plain.Hang("", d.Conclusion) + "\n")
	b.WriteString(plain.Left("box", 10) + plain.Right("mass g", 9) + plain.Right("shown g", 9) + plain.Right("whole a kg", 20) + plain.Right("large a kg", 20) + plain.Right("of all area", 12) + "\n")
	for _, r := range d.Boxes {
		b.WriteString(strings.TrimRight(plain.Left(r.Box, 10)+plain.Right(number(r.MassG), 9)+r.cells(), " ") + "\n")
	}
	b.WriteString("\n")
	if d.WholePerKg != nil {
		b.WriteString(plain.Hang("Sample: ", fmt.Sprintf("%s whole and %s large a kg, at 95 %%; %s g weighed.", interval(d.WholePerKg), interval(d.LargePerKg), number(d.TotalG))))
	}
	for _, r := range d.Boxes {
		if r.WholeSharePct != nil && r.LargeSharePct != nil {
			b.WriteString(plain.Hang("  "+r.Box+": ", fmt.Sprintf("%.0f %% of the whole kernels, %.0f %% of the large pieces.", *r.WholeSharePct, *r.LargeSharePct)))
		}
	}
	if d.State != "" {
		b.WriteString(plain.Hang("State: ", d.State+"."))
	}
	b.WriteString(plain.Hang("Large: ", "a broken piece of half a kernel and more."))
	b.WriteString(plain.Hang("Basis: ", d.Basis+"."))
	for _, n := range d.Notes {
		b.WriteString(plain.Hang("Note: ", plain.Upper(n)+"."))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (r BoxReport) cells() string {
	if !r.counted.seen {
		return plain.Right("-", 9) + plain.Right("not looked at", 20)
	}
	area := "-"
	if r.AreaSharePct != nil {
		area = fmt.Sprintf("%.0f %%", *r.AreaSharePct)
	}
	return plain.Right(number(r.ShownG), 9) + plain.Right(interval(r.WholePerKg), 20) + plain.Right(interval(r.LargePerKg), 20) + plain.Right(area, 12)
}

func interval(e *result.Estimate) string {
	return fmt.Sprintf("%s (%s to %s)", number(e.Value), number(e.Low), number(e.High))
}

// number prints about three figures.
func number(v float64) string {
	switch {
	case v < 10:
		return plain.Number(v, 1)
	default:
		return plain.Number(v, 0)
	}
}
