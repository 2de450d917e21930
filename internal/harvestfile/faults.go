package harvestfile

import (
	"fmt"
	"strings"
)

// mostFaults bounds what is told of one table.
const mostFaults = 10

// Faults are what is wrong with a table, a sentence each that names file and line.
type Faults []string

// Error is one fault a line.
func (f Faults) Error() string {
	if len(f) > mostFaults {
		return strings.Join(f[:mostFaults], "\n") + fmt.Sprintf("\nand %d more faults", len(f)-mostFaults)
	}
	return strings.Join(f, "\n")
}

// or is nil where nothing is wrong.
func (f Faults) or() error {
	if len(f) == 0 {
		return nil
	}
	return f
}
