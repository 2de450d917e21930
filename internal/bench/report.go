package main

import (
	"fmt"
	"strings"
)

// To reach: the whole measurement over a mere decode, its memory, and scikit-image's time over it.
const (
	mostDecodes   = 8.0
	mostMB        = 600.0
	leastFaster   = 8.0
	mostScaleTime = 0.8
)

// report prints times, memory and ratios. The contestants come in the order of run.
func report(photo string, rounds int, c []*contestant) string {
	decode, scale, whole, chain := c[0], c[1], c[2], c[3]
	var b strings.Builder
	fmt.Fprintf(&b, "%s, one thread, %d rounds by turns, medians of processor time\n\n", photo, rounds)
	fmt.Fprintf(&b, "| what | s | over the decode | peak MB |\n|---|---:|---:|---:|\n")
	for _, x := range c {
		fmt.Fprintf(&b, "| %s | %.3f | %.1f | %.0f |\n", x.Name, x.median(), x.median()/decode.median(), x.PeakMB)
	}
	b.WriteByte('\n')
	line := func(what string, value float64, unit string, limit float64, most bool) {
		word, ok := "at least", value >= limit
		if most {
			word, ok = "at most", value <= limit
		}
		verdict := "reached"
		if !ok {
			verdict = "NOT reached"
		}
		fmt.Fprintf(&b, "- %s: %.2f %s (%s %g: %s)\n", what, value, unit, word, limit, verdict)
	}
	line("whole measurement, start of the program included", whole.median()/decode.median(), "decodes", mostDecodes, true)
	line("finding the scale", scale.median()/decode.median(), "decodes", mostScaleTime, true)
	line("peak memory of the measurement", whole.PeakMB, "MB", mostMB, true)
	line("scikit-image's time over ours", chain.median()/whole.median(), "times", leastFaster, false)
	return b.String()
}
