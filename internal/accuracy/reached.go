package main

import (
	"fmt"
	"math"
	"strings"

	"gristmark/internal/accuracy/score"
)

// figures are what the goals are held against.
type figures struct {
	scored
	Reals []realScore
}

// goal is a figure to reach on scenes that nothing was tuned on. Of returns what it is, and whether that is enough; empty where this run has nothing
// to say of it.
type goal struct {
	What, Limit string
	Of          func(figures) (is string, ok bool)
}

// bound of a figure over families: the least or the most that it may be.
type bound struct {
	limit float64
	most  bool
	form  func(float64) string
}

func least(limit float64, form func(float64) string) bound {
	return bound{limit: limit, form: form}
}

func most(limit float64, form func(float64) string) bound {
	return bound{limit: limit, most: true, form: form}
}

// holds is false of what is no number: what is not known is not reached.
func (b bound) holds(v float64) bool { return v >= b.limit && !b.most || v <= b.limit && b.most }

func (b bound) String() string {
	if b.most {
		return "≤ " + b.form(b.limit)
	}
	return "≥ " + b.form(b.limit)
}

// over is a goal for a figure of some families together.
func over(what string, in func(string) bool, b bound, of func(*score.Family) float64) goal {
	return goal{what, b.String(), func(f figures) (string, bool) {
		sum := score.NewFamily("sum")
		for _, one := range f.Families {
			if in(one.Name) {
				sum.Merge(one)
			}
		}
		if sum.Scenes == 0 {
			return "", false
		}
		is := of(sum)
		return b.form(is), b.holds(is)
	}}
}

func anyFamily(string) bool { return true }

// plainApart are the families of pieces that lie apart on plain trays.
func plainApart(name string) bool { return strings.HasSuffix(name, "-apart") }

func touching(name string) bool { return name == "kernels-touching" || name == "mixed-touching" }

func touching60(name string) bool { return name == "kernels-touching-60" }

func crossing(name string) bool { return name == "straws-crossing" }

func f3(v float64) string      { return number(v, 3) }
func pct(v float64) string     { return number(v, 2) + " %" }
func pts(v float64) string     { return number(v, 1) + " points" }
func percent(v float64) string { return number(v, 0) + " %" }
func ratio(v float64) string   { return number(v, 2) }

func f1(f *score.Family) float64 { return f.Loose.F1() }

// most90 is what the absolute errors do not exceed in nine scenes of ten.
func most90(errors []float64) float64 { return score.Upper(score.Abs(errors), 0.9) }

func medianSize(name string) func(*score.Family) float64 {
	return func(f *score.Family) float64 { return score.Median(score.Abs(f.Sizes[name])) }
}

var goals = []goal{
	over("scale error, 95 % of scenes", anyFamily, most(1, pct), func(f *score.Family) float64 { return score.Upper(score.Abs(f.ScaleErrors), 0.95) }),
	over("detection F1, pieces apart on plain trays", plainApart, least(0.995, f3), f1),
	over("detection F1, 30 to 40 % touching", touching, least(0.985, f3), f1),
	over("detection F1, 60 % touching", touching60, least(0.97, f3), f1),
	over("detection F1, crossing straws", crossing, least(0.97, f3), f1),
	{"detection F1, each family that is not heaped", "≥ 0.970", poorestFamily},
	{"families below the yardstick in F1", "0", belowYardstick},
	over("kernel against stover right", anyFamily, least(0.98, f3), (*score.Family).SideRight),
	over("whole kernels within 3 % or 1, share of scenes", anyFamily, least(90, percent), withinOf(func(g score.Grains) score.Tally { return g.Whole })),
	over("broken kernels within 3 % or 1, share of scenes", anyFamily, least(90, percent), withinOf(func(g score.Grains) score.Tally { return g.Broken })),
	over("stover length, median error", anyFamily, most(1, pct), medianSize("stover length")),
	over("stover length, error of 90 % of pieces", anyFamily, most(6, pct), func(f *score.Family) float64 { return most90(f.Sizes["stover length"]) }),
	over("kernel area, median error", anyFamily, most(1.5, pct), medianSize("kernel area")),
	over("stover area, median error", anyFamily, most(1.5, pct), medianSize("stover area")),
	over("length classes, largest error in 90 % of scenes", anyFamily, most(3, pts), func(f *score.Family) float64 { return most90(f.ClassErrors) }),
	over(fmt.Sprintf("passing 4.75 mm, error in 90 %% of scenes with %d kernel pieces or more", score.ManyKernels), anyFamily, most(4, pts), func(f *score.Family) float64 { return most90(f.PassingMany) }),
	{"intervals hold the lot's value, each number", "90 to 99 %", coverage},
	{"intervals' width over true outlines', each number", "≤ 1.30", widths},
	over("usable scenes refused", anyFamily, most(2, pct), func(f *score.Family) float64 { return share(len(f.Refused), f.Scenes-f.Unusable) }),
	over("unusable scenes refused", anyFamily, least(95, pct), func(f *score.Family) float64 {
		return share(f.Unusable-len(f.UnusableAccepted), f.Unusable)
	}),
	{"real photographs, error of each set's count", "≤ 3.0 %", realCounts},
}

// share is n of all in percent; no number where there are none.
func share(n, all int) float64 {
	if all == 0 {
		return math.NaN()
	}
	return 100 * float64(n) / float64(all)
}

// withinOf is the share of scenes with kernels, %, in which the number of a class is within 3 % or 1.
func withinOf(of func(score.Grains) score.Tally) func(*score.Family) float64 {
	return func(f *score.Family) float64 {
		n := 0
		for _, g := range f.Grains {
			if of(g).Within() {
				n++
			}
		}
		return share(n, len(f.Grains))
	}
}

// reached holds the figures against the goals and names the families below the yardstick.
func reached(f figures) string {
	t := newTable("figure", "to reach", "is", "")
	for _, g := range goals {
		is, ok := g.Of(f)
		if is != "" {
			t.row(g.What, g.Limit, is, verdict(ok))
		}
	}
	return t.String() + "\n" + namedBelow(f)
}

func verdict(ok bool) string {
	if ok {
		return "reached"
	}
	return "**not reached**"
}

// usable reports whether the family has scenes that a person could count.
func usable(f *score.Family) bool { return f.Scenes > f.Unusable }

// poorestFamily names the family with the lowest F1. Heaps are unusable, as are all families that count for nothing here.
func poorestFamily(f figures) (string, bool) {
	b, worst := least(0.97, f3), (*score.Family)(nil)
	for _, one := range f.Families {
		if usable(one) && (worst == nil || f1(one) < f1(worst)) {
			worst = one
		}
	}
	if worst == nil {
		return "", false
	}
	return f3(f1(worst)) + " (" + worst.Name + ")", b.holds(f1(worst))
}

// below lists the families that the yardstick finds better.
func below(f figures) (list []string) {
	for _, one := range f.Families {
		if y := f.Yardstick[one.Name]; y != nil && f1(one) < f1(y) {
			list = append(list, fmt.Sprintf("%s (%.3f against %.3f)", one.Name, f1(one), f1(y)))
		}
	}
	return list
}

func belowYardstick(f figures) (string, bool) {
	if len(f.Yardstick) == 0 {
		return "", false
	}
	n := len(below(f))
	return fmt.Sprint(n), n == 0
}

func namedBelow(f figures) string {
	list := below(f)
	switch {
	case len(f.Yardstick) == 0:
		return "The yardstick was not run.\n"
	case len(list) == 0:
		return "No family falls below the yardstick.\n"
	}
	return "Below the yardstick in F1: " + strings.Join(list, ", ") + ".\n"
}

// coverage is how often the intervals of each number hold the lot's value: the number with the least and that with the most.
func coverage(f figures) (string, bool) {
	var low, high float64
	var lowest, highest string
	all := merged(f.Families)
	for _, n := range score.Numbers {
		h := all.Numbers[n.Name]
		held := share(h.Covered, h.Of)
		if h.Of > 0 && (lowest == "" || held < low) {
			low, lowest = held, n.Name
		}
		if h.Of > 0 && (highest == "" || held > high) {
			high, highest = held, n.Name
		}
	}
	if lowest == "" {
		return "", false
	}
	return fmt.Sprintf("%s (%s) to %s (%s)", percent(low), lowest, percent(high), highest), low >= 90 && high <= 99
}

// widths is the number whose intervals are widest over those of the true outlines.
func widths(f figures) (string, bool) {
	var ideals []*score.Family
	for _, one := range f.Families {
		if i := f.Ideal[one.Name]; i != nil {
			ideals = append(ideals, i)
		}
	}
	all, best, b := merged(f.Families), merged(ideals), most(1.3, ratio)
	widest, name := math.Inf(-1), ""
	for _, n := range score.Numbers {
		if v := score.Median(all.Numbers[n.Name].Widths) / score.Median(best.Numbers[n.Name].Widths); v > widest {
			widest, name = v, n.Name
		}
	}
	if name == "" {
		return "", false
	}
	return ratio(widest) + " (" + name + ")", b.holds(widest)
}

func merged(families []*score.Family) *score.Family {
	all := score.NewFamily("all")
	for _, f := range families {
		all.Merge(f)
	}
	return all
}

// realCounts is the set of photographs whose counts err most: misses and extras of its photographs do not make up for each other.
func realCounts(f figures) (string, bool) {
	off, count := map[string]int{}, map[string]int{}
	for _, r := range f.Reals {
		off[r.Set] += max(r.Found-r.Count, r.Count-r.Found)
		count[r.Set] += r.Count
	}
	worst, name := -1.0, ""
	for _, r := range f.Reals {
		if v := share(off[r.Set], count[r.Set]); v > worst || v == worst && r.Set < name {
			worst, name = v, r.Set
		}
	}
	if name == "" {
		return "", false
	}
	return fmt.Sprintf("%s (%s, of %d sets)", number(worst, 1)+" %", name, len(count)), worst <= 3
}
