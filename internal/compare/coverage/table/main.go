// Command table prints how often the intervals of counts, shakes, comparisons and corrections hold the truth.
package main

import (
	"flag"
	"fmt"
	"os"

	"gristmark/internal/compare/coverage"
)

func main() {
	draws := flag.Int("draws", 500, "draws a setting")
	flag.Parse()
	if err := coverage.Print(os.Stdout, coverage.Table(*draws)); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
