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
	rows := coverage.Table(*draws)
	pieces, err := coverage.Photographed(*draws, 2, 3, 5)
	if err == nil {
		err = coverage.Print(os.Stdout, append(rows, pieces...))
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
