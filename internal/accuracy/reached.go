package main

import (
	"fmt"
	"strings"

	"gristmark/internal/accuracy/score"
)

// goal is a figure to reach on scenes that nothing was tuned on.
type goal struct {
	What  string
	Of    func(*score.Family) float64
	Limit float64
	Most  bool              // Limit is the most, not the least
	In    func(string) bool // families that it is asked of
	Form  func(float64) string
}

func anyFamily(string) bool { return true }

// plainApart are the families of pieces that lie apart on plain trays.
func plainApart(name string) bool { return strings.HasSuffix(name, "-apart") }

func touching(name string) bool { return name == "kernels-touching" || name == "mixed-touching" }

func f3(v float64) string  { return number(v, 3) }
func pct(v float64) string { return number(v, 2) + " %" }
func pts(v float64) string { return number(v, 1) + " points" }

var goals = []goal{
	{"scale error, 95 % of scenes", func(f *score.Family) float64 { return score.Upper(score.Abs(f.ScaleErrors), 0.95) }, 1, true, anyFamily, pct},
	{"detection F1, pieces apart on plain trays", func(f *score.Family) float64 { return f.Loose.F1() }, 0.99, false, plainApart, f3},
	{"detection F1, 30 % and more touching", func(f *score.Family) float64 { return f.Loose.F1() }, 0.96, false, touching, f3},
	{"kernel against stover right", (*score.Family).SideRight, 0.93, false, anyFamily, f3},
	{"stover length, median error", func(f *score.Family) float64 { return score.Median(score.Abs(f.Sizes["stover length"])) }, 3, true, anyFamily, pct},
	{"passing 4.75 mm, error in 90 % of scenes", func(f *score.Family) float64 {
		return score.Upper(score.Abs(f.Numbers["passing 4.75 mm"].Errors), 0.9)
	}, 8, true, anyFamily, pts},
}

// reached holds the figures against the goals and names the families below the yardstick.
func reached(families []*score.Family, beat map[string]*score.Family) string {
	t := newTable("figure", "to reach", "is", "")
	for _, g := range goals {
		sum := score.NewFamily("sum")
		for _, f := range families {
			if g.In(f.Name) {
				sum.Merge(f)
			}
		}
		if sum.Scenes == sum.Unusable {
			continue
		}
		is := g.Of(sum)
		bound, ok := "≥ ", is >= g.Limit
		if g.Most {
			bound, ok = "≤ ", is <= g.Limit
		}
		t.row(g.What, bound+g.Form(g.Limit), g.Form(is), verdict(ok))
	}
	return t.String() + "\n" + belowYardstick(families, beat)
}

func verdict(ok bool) string {
	if ok {
		return "reached"
	}
	return "**not reached**"
}

func belowYardstick(families []*score.Family, beat map[string]*score.Family) string {
	var below []string
	for _, f := range families {
		if y := beat[f.Name]; y != nil && f.Loose.F1() < y.Loose.F1() {
			below = append(below, fmt.Sprintf("%s (%.3f against %.3f)", f.Name, f.Loose.F1(), y.Loose.F1()))
		}
	}
	switch {
	case len(beat) == 0:
		return "The yardstick was not run.\n"
	case len(below) == 0:
		return "No family falls below the yardstick.\n"
	}
	return "Below the yardstick in F1: " + strings.Join(below, ", ") + ".\n"
}
