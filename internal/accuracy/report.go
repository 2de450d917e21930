package main

import (
	"fmt"
	"math"
	"strings"

	"gristmark/internal/accuracy/score"
	"gristmark/internal/result"
)

// table is a Markdown table; its first column is text, the others are numbers.
type table struct {
	strings.Builder
}

func newTable(columns ...string) *table {
	t := &table{}
	fmt.Fprintf(t, "| %s |\n|---%s|\n", strings.Join(columns, " | "), strings.Repeat("|---:", len(columns)-1))
	return t
}

func (t *table) row(cells ...string) { fmt.Fprintf(t, "| %s |\n", strings.Join(cells, " | ")) }

// number formats a value; a dash where there is none.
func number(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	return fmt.Sprintf("%.*f", decimals, v)
}

func signed(v float64, decimals int) string {
	if math.IsNaN(v) {
		return "–"
	}
	return fmt.Sprintf("%+.*f", decimals, v)
}

func detection(families []*score.Family, yardstick map[string]*score.Family) string {
	t := newTable("family", "scenes", "pieces", "precision", "recall", "F1 at 0.5", "F1 at 0.75", "yardstick F1 at 0.5", "count error median %", "p90 %", "scale error median %", "p95 %")
	for _, f := range families {
		beat := "–"
		if y := yardstick[f.Name]; y != nil {
			beat = number(y.Loose.F1(), 3)
		}
		errors, scale := score.Abs(f.CountErrors), score.Abs(f.ScaleErrors)
		t.row(f.Name, fmt.Sprint(f.Scenes), fmt.Sprint(f.Loose.Hits+f.Loose.Misses), number(f.Loose.Precision(), 3), number(f.Loose.Recall(), 3),
			number(f.Loose.F1(), 3), number(f.Strict.F1(), 3), beat, number(score.Median(errors), 1), number(score.Upper(errors, 0.9), 1),
			number(score.Median(scale), 2), number(score.Upper(scale, 0.95), 2))
	}
	return t.String()
}

// lone tells how long the missed pieces truly are and how long the extras were measured.
func lone(all *score.Family) string {
	t := newTable("length", "missed", "extras")
	bounds := []float64{0, 1, 1.5, 2, 4, 8, 19, math.Inf(1)}
	for i, from := range bounds[:len(bounds)-1] {
		name := fmt.Sprintf("%g to %g mm", from, bounds[i+1])
		if math.IsInf(bounds[i+1], 1) {
			name = fmt.Sprintf("over %g mm", from)
		}
		t.row(name, fmt.Sprint(between(all.Lone.Missed, from, bounds[i+1])), fmt.Sprint(between(all.Lone.Extra, from, bounds[i+1])))
	}
	return t.String()
}

func between(values []float64, from, to float64) int {
	n := 0
	for _, v := range values {
		if from <= v && v < to {
			n++
		}
	}
	return n
}

var named = []result.Class{result.WholeKernel, result.BrokenKernel, result.Stover, result.Unsure, score.Missed}

func confusion(all *score.Family) string {
	t := newTable("true \\ named", "whole kernel", "broken kernel", "stover", "unsure", "missed")
	for _, class := range named[:3] {
		cells := []string{strings.ReplaceAll(string(class), "_", " ")}
		for _, name := range named {
			cells = append(cells, fmt.Sprint(all.Confusion[score.Key{True: class, Named: name}]))
		}
		t.row(cells...)
	}
	return t.String()
}

func naming(families []*score.Family) string {
	t := newTable("family", "found pieces", "kernel or stover right", "on neither side", "unsure", "whole named broken", "broken named whole")
	for _, f := range families {
		n := f.KernelStover.Hits + f.KernelStover.Misses + f.KernelStover.Extras
		if n == 0 {
			continue
		}
		t.row(f.Name, fmt.Sprint(n), number(f.SideRight(), 3), fmt.Sprint(f.KernelStover.Misses), fmt.Sprint(f.Unsure()),
			fmt.Sprint(f.Confusion[score.Key{True: result.WholeKernel, Named: result.BrokenKernel}]),
			fmt.Sprint(f.Confusion[score.Key{True: result.BrokenKernel, Named: result.WholeKernel}]))
	}
	return t.String()
}

func sizes(families []*score.Family) string {
	columns := []string{"family"}
	for _, name := range score.SizeNames {
		columns = append(columns, name+" median %", "p90", "bias")
	}
	t := newTable(columns...)
	for _, f := range families {
		cells := []string{f.Name}
		for _, name := range score.SizeNames {
			v := f.Sizes[name]
			cells = append(cells, number(score.Median(score.Abs(v)), 1), number(score.Upper(score.Abs(v), 0.9), 1), signed(score.Median(v), 1))
		}
		t.row(cells...)
	}
	return t.String()
}

// leans are the bounds of how aslant pieces are seen.
var leans = []float64{0, 0.1, 0.2, 0.3, 0.4, 0.6, 2}

// aslant tells how areas err by how aslant pieces are seen, and how much of that is in their outlines in the photo already.
func aslant(all *score.Family) string {
	t := newTable("slope of the line of sight", "kernels", "area median %", "bias", "covered in the photo, median %", "stover", "area median %", "bias", "covered in the photo, median %")
	for i, lo := range leans[:len(leans)-1] {
		cells := []string{fmt.Sprintf("%g to %g", lo, leans[i+1])}
		if i == len(leans)-2 {
			cells[0] = fmt.Sprintf("over %g", lo)
		}
		for _, kernel := range []bool{true, false} {
			var area, outline []float64
			for _, a := range all.Aslant {
				if a.Kernel == kernel && a.Lean >= lo && a.Lean < leans[i+1] {
					area, outline = append(area, a.Area), append(outline, a.Outline)
				}
			}
			cells = append(cells, fmt.Sprint(len(area)), number(score.Median(score.Abs(area)), 2), signed(score.Median(area), 1), number(score.Median(score.Abs(outline)), 2))
		}
		t.row(cells...)
	}
	return t.String()
}

func sampleNumbers(all, ideal, yardstick *score.Family) string {
	t := newTable("number", "unit of error", "scenes", "absent", "error median", "p90", "bias", "true outlines median", "yardstick median",
		"intervals", "hold the lot's value", "median width", "over true outlines'")
	for _, n := range score.Numbers {
		h, best, beat := all.Numbers[n.Name], ideal.Numbers[n.Name], yardstick.Numbers[n.Name]
		held := "–"
		if h.Of > 0 {
			held = fmt.Sprintf("%.0f %%", 100*float64(h.Covered)/float64(h.Of))
		}
		t.row(n.Name, n.Unit, fmt.Sprint(len(h.Errors)), fmt.Sprint(h.Absent), number(score.Median(score.Abs(h.Errors)), 1),
			number(score.Upper(score.Abs(h.Errors), 0.9), 1), signed(score.Median(h.Errors), 1), number(score.Median(score.Abs(best.Errors)), 1),
			number(score.Median(score.Abs(beat.Errors)), 1), fmt.Sprint(h.Of), held, number(score.Median(h.Widths), 1),
			number(score.Median(h.Widths)/score.Median(best.Widths), 2))
	}
	return t.String()
}

func numbersByFamily(families []*score.Family) string {
	columns := []string{"family, median error"}
	for _, n := range score.Numbers {
		columns = append(columns, n.Name)
	}
	t := newTable(columns...)
	for _, f := range families {
		cells := []string{f.Name}
		for _, n := range score.Numbers {
			cells = append(cells, number(score.Median(score.Abs(f.Numbers[n.Name].Errors)), 1))
		}
		t.row(cells...)
	}
	return t.String()
}

func reliability(all *score.Family) string {
	t := newTable("stated probability", "pieces", "mean stated", "came true")
	for i, b := range all.Reliability {
		if b.N == 0 {
			continue
		}
		n := float64(b.N)
		t.row(fmt.Sprintf("%.1f to %.1f", float64(i)/score.Bins, float64(i+1)/score.Bins), fmt.Sprint(b.N), number(b.Sum/n, 3), number(b.Correct/n, 3))
	}
	return t.String()
}

func refusals(all *score.Family) string {
	var b strings.Builder
	usable := all.Scenes - all.Unusable
	fmt.Fprintf(&b, "Usable scenes refused: %d of %d. Unusable scenes refused: %d of %d.\n", len(all.Refused), usable, all.Unusable-len(all.UnusableAccepted), all.Unusable)
	if len(all.Refused) > 0 {
		b.WriteString("\nRefused though usable:\n\n")
	}
	for _, r := range all.Refused {
		fmt.Fprintf(&b, "- %s\n", r)
	}
	if len(all.UnusableAccepted) > 0 {
		fmt.Fprintf(&b, "\nMeasured though unusable: %s.\n", strings.Join(all.UnusableAccepted, ", "))
	}
	return b.String()
}
