package rulers

import (
	"fmt"
	"math"
	"strings"
)

// Goals of the report, besides each ruler's own.
const (
	goalCornerPx = 0.15
	goalFound    = 0.98
	goalAlongPct = 0.5
	goalDecodes  = 0.8

	manyScenes = 100
)

// Report is the table of the rulers, as Markdown.
func Report(all []Summary) string {
	var b strings.Builder
	b.WriteString("| ruler | scenes | found % | scale error, 95 % within % | goal | of true mm % | stated s.d. % | interval holds % | at a piece's height % | corners, median px |\n")
	b.WriteString("|---|---:|---:|---:|---:|---:|---:|---:|---:|---:|\n")
	for _, s := range all {
		goal := "–"
		if s.Ruler.GoalP > 0 {
			goal = fmt.Sprint(s.Ruler.GoalP)
		}
		fmt.Fprintf(&b, "| %s | %d | %.1f | %.2f | %s | %.2f | %.2f | %.1f | %.1f | %.3f |\n", s.Ruler.Name, len(s.Scores), 100*s.Found(),
			100*quantile(s.over(func(x Score) float64 { return x.Error }), 0.95), goal,
			100*quantile(s.over(func(x Score) float64 { return x.True }), 0.95),
			100*quantile(s.over(func(x Score) float64 { return x.SD }), 0.5),
			100*s.share(Score.Holds), 100*s.share(Score.PieceHolds), quantile(s.corners(), 0.5))
	}
	b.WriteByte('\n')
	for _, s := range all {
		if along := s.over(func(x Score) float64 { return x.Along }); len(along) > 0 {
			fmt.Fprintf(&b, "Along the %s: 95 %% within %.2f %% (goal %g).\n\n", s.Ruler.Name, 100*quantile(along, 0.95), goalAlongPct)
		}
	}
	return b.String()
}

// Missed lists what was not reached, a sentence each.
func Missed(all []Summary) (out []string) {
	note := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	for _, s := range all {
		e := 100 * quantile(s.over(func(x Score) float64 { return x.Error }), 0.95)
		if s.Ruler.GoalP > 0 && !(e <= s.Ruler.GoalP) {
			note("%s: 95 %% of the scale errors lie within %.2f %%, not %g", s.Ruler.Name, e, s.Ruler.GoalP)
		}
		if f := s.Found(); f < goalFound {
			note("%s: found in %.1f %% of the scenes, not %.0f", s.Ruler.Name, 100*f, 100*goalFound)
		}
		// Of few scenes all may well hold.
		if h := s.share(Score.Holds); !(h >= 0.9 && (h <= 0.99 || s.Ruler.Wide || len(s.Scores) < manyScenes)) {
			note("%s: the 95 %% interval holds the truth in %.1f %%, not 90 to 99", s.Ruler.Name, 100*h)
		}
		if n := s.False(); n > 0 {
			note("%s: %d scales are off by a twentieth or more, farther than their intervals say", s.Ruler.Name, n)
		}
		if m := quantile(s.corners(), 0.5); !(m <= goalCornerPx) && !math.IsNaN(m) {
			note("%s: the marks are off by %.3f px in the median, not %g", s.Ruler.Name, m, goalCornerPx)
		}
		if a := 100 * quantile(s.over(func(x Score) float64 { return x.Along }), 0.95); a > goalAlongPct {
			note("%s: 95 %% of the errors along it lie within %.2f %%, not %g", s.Ruler.Name, a, goalAlongPct)
		}
	}
	return out
}
