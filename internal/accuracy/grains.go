package main

import (
	"fmt"
	"math"

	"gristmark/internal/accuracy/score"
)

// grains tells how near the expected numbers of whole and of broken kernels come.
func grains(families []*score.Family) string {
	t := newTable("family", "scenes", "whole", "expected %", "error in a scene median %", "p90 %", "within 3 % or 1", "with nicked",
		"broken", "expected %", "error in a scene median %", "p90 %", "within 3 % or 1", "with nicked")
	for _, f := range families {
		if len(f.Grains) == 0 {
			continue
		}
		row := []string{f.Name, fmt.Sprint(len(f.Grains))}
		row = append(row, grainCells(f, func(g score.Grains) (apart, all score.Tally) { all, _ = g.All(); return g.Whole, all })...)
		row = append(row, grainCells(f, func(g score.Grains) (apart, all score.Tally) { _, all = g.All(); return g.Broken, all })...)
		t.row(row...)
	}
	return t.String()
}

// grainCells are the columns of one class: true pieces, error of all together, of the single scene, and share of scenes that are near, without and with
// the nicked pieces.
func grainCells(f *score.Family, of func(score.Grains) (apart, all score.Tally)) []string {
	var sum score.Tally
	var errors []float64
	for _, g := range f.Grains {
		apart, _ := of(g)
		sum.Add(apart)
		if e := math.Abs(apart.ErrorPct()); !math.IsNaN(e) {
			errors = append(errors, e)
		}
	}
	near := withinOf(func(g score.Grains) score.Tally { apart, _ := of(g); return apart })(f)
	nearAll := withinOf(func(g score.Grains) score.Tally { _, all := of(g); return all })(f)
	return []string{number(sum.True, 0), signed(sum.ErrorPct(), 1), number(score.Median(errors), 1), number(score.Upper(errors, 0.9), 1),
		percent(near), percent(nearAll)}
}

// nicked tells what the pieces at the line between whole and broken are taken for.
func nicked(families []*score.Family) string {
	t := newTable(fmt.Sprintf("family, pieces that kept %g to %g %% of their outline", 100*score.NickedFrom, 100*score.NickedTo), "whole", "expected whole",
		"broken", "expected broken")
	for _, f := range families {
		var w, b score.Tally
		for _, g := range f.Grains {
			w.Add(g.NickedWhole)
			b.Add(g.NickedBroken)
		}
		if w.True+b.True > 0 {
			t.row(f.Name, number(w.True, 0), number(w.Expected, 1), number(b.True, 0), number(b.Expected, 1))
		}
	}
	return t.String()
}

// lengthClasses tells how far the worst of a scene's four length classes is off.
func lengthClasses(families []*score.Family) string {
	t := newTable("family, largest error of the length classes", "scenes", "median, points", "p90, points", "within 3 points")
	for _, f := range families {
		if len(f.ClassErrors) == 0 {
			continue
		}
		near := 0
		for _, e := range f.ClassErrors {
			if e <= 3 {
				near++
			}
		}
		t.row(f.Name, fmt.Sprint(len(f.ClassErrors)), number(score.Median(f.ClassErrors), 1), number(score.Upper(f.ClassErrors, 0.9), 1), percent(share(near, len(f.ClassErrors))))
	}
	return t.String()
}
