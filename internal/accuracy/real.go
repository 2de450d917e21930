package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gristmark/internal/accuracy/photographs"
	"gristmark/internal/result"
)

// realScore is what was found in one photograph.
type realScore struct {
	photographs.Photograph
	Found   int
	ByName  map[result.Class]int
	MMPerPx float64 // NaN without a scale
	Why     string  // of a refusal
}

// errorPct is found less true, % of true; a refusal misses everything.
func (r realScore) errorPct() float64 { return 100 * float64(r.Found-r.Count) / float64(r.Count) }

// measureReal measures the photographs that are there and names the sets that are not.
func measureReal(p program) (scores []realScore, absent []string) {
	for _, photo := range photographs.All() {
		if !photo.Here(".") {
			absent = append(absent, photo.Set+"/"+photo.File)
			continue
		}
		doc, _ := p.measure(photo.Path("."), "--show", "kernels", "--scale", photo.Scale)
		scores = append(scores, scoreReal(photo, doc.Photos[0]))
	}
	slices.SortStableFunc(scores, func(a, b realScore) int {
		return cmp.Compare(math.Abs(b.errorPct()), math.Abs(a.errorPct()))
	})
	return scores, absent
}

func scoreReal(photo photographs.Photograph, got result.Photo) realScore {
	s := realScore{Photograph: photo, ByName: map[result.Class]int{}, MMPerPx: math.NaN()}
	if got.Scale != nil {
		s.MMPerPx = got.Scale.MMPerPx
	}
	if got.Status != result.Measured {
		s.Why = "no reason given"
		if got.Problem != nil {
			s.Why = *got.Problem
		}
		return s
	}
	s.Found = len(got.Particles)
	for _, p := range got.Particles {
		s.ByName[p.Class]++
	}
	return s
}

func realTable(scores []realScore, absent []string) string {
	t := newTable("set, worst first", "part", "true", "found", "error %", "whole", "broken", "stover", "unsure", "mm per px")
	var reasons strings.Builder
	for _, s := range scores {
		part := "reporting"
		if s.Tuning {
			part = "tuning"
		}
		found := fmt.Sprint(s.Found)
		if s.Why != "" {
			found = "refused"
			fmt.Fprintf(&reasons, "\n- %s/%s refused: %s", s.Set, s.File, s.Why)
		}
		t.row(s.Set+"/"+s.File, part, fmt.Sprint(s.Count), found, signed(s.errorPct(), 1), fmt.Sprint(s.ByName[result.WholeKernel]),
			fmt.Sprint(s.ByName[result.BrokenKernel]), fmt.Sprint(s.ByName[result.Stover]), fmt.Sprint(s.ByName[result.Unsure]), number(s.MMPerPx, 4))
	}
	text := t.String() + reasons.String()
	if len(absent) > 0 {
		text += "\n\nAbsent on this machine: " + strings.Join(absent, ", ") + "."
	}
	return text + "\n"
}
