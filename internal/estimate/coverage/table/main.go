// Command table prints how often the intervals of package estimate hold, for one, two and four photos a sample.
package main

import (
	"flag"
	"os"

	"gristmark/internal/estimate/coverage"
)

func main() {
	short := flag.Bool("short", false, "a fifth of the draws")
	seed := flag.Uint64("seed", 2000, "of all draws")
	only := flag.Int("photos", 0, "photos a sample; 0: one, two and four")
	flag.Parse()
	counts := []int{1, 2, 4}
	if *only > 0 {
		counts = []int{*only}
	}
	for _, photos := range counts {
		plan := coverage.Full(photos)
		plan.Seed = *seed
		if *short {
			plan.Lots /= 5
		}
		coverage.Print(os.Stdout, coverage.Run(plan))
	}
}
