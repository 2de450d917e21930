package report

import (
	"strings"

	"gristmark/internal/result"
	"gristmark/internal/words"
)

// SettingsText is what was told of a load, in one line; empty where nothing was. Lengths are in the units of the words.
func SettingsText(s result.Settings, say *words.Words) string {
	var parts []string
	add := func(told bool, text func() string) {
		if told {
			parts = append(parts, text())
		}
	}
	add(s.Load != "", func() string { return say.T("load %s", s.Load) })
	for _, word := range []string{s.Farm, s.Field, s.Hybrid} {
		add(word != "", func() string { return word })
	}
	add(s.DMPct != nil, func() string { return say.T("%s %% dry matter", say.Trimmed(*s.DMPct, 1)) })
	add(s.TLOCMM != nil, func() string { return say.T("length of cut %s", lengthText(*s.TLOCMM, say)) })
	add(s.RollGapMM != nil, func() string { return say.T("roll gap %s", lengthText(*s.RollGapMM, say)) })
	add(s.SpeedDiffPct != nil, func() string { return say.T("roll speeds %s %% apart", say.Trimmed(*s.SpeedDiffPct, 1)) })
	add(s.KnifeHours != nil, func() string { return say.T("knives sharpened %s h ago", say.Trimmed(*s.KnifeHours, 1)) })
	add(s.ThroughputTPH != nil, func() string { return say.Throughput(*s.ThroughputTPH) })
	for _, word := range []string{s.Process, s.State} {
		add(word != "", func() string { return say.T(word) })
	}
	add(s.Note != "", func() string { return s.Note })
	return strings.Join(parts, ", ")
}

// lengthText is a length as it was set on the machine, without zeros that nobody set.
func lengthText(mm float64, say *words.Words) string {
	return say.Limit(mm) + " " + say.LengthUnit()
}
