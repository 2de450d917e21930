package advice

import (
	"errors"
	"fmt"
	"math"
)

// States of the crop.
const (
	Fresh     = "fresh"
	Fermented = "fermented"
)

// Context is what is known of the machine and the crop. Every pointer may be nil and every word
// empty: unknown.
type Context struct {
	Process       string   // conventional, shredding, unprocessed; empty: that of the target set
	State         string   // Fresh or Fermented; empty: fresh is taken
	DMPct         *float64 // dry matter of the crop, %, 5..95
	TLOCMM        *float64 // theoretical length of cut, mm, 2..60
	RollGapMM     *float64 // distance between the processor's rolls, mm, 0..20
	SpeedDiffPct  *float64 // speed difference between the rolls, %, 0..100
	KnifeHours    *float64 // hours of cutting since the knives were sharpened, 0..1000
	ThroughputTPH *float64 // tonnes of fresh chop per hour, 0..1000
}

// Validate refuses values that no machine or crop has; most often a unit is mixed up.
func (c Context) Validate() error {
	fields := []struct {
		name      string
		v         *float64
		low, high float64
		unit      string
	}{
		{"dry matter", c.DMPct, 5, 95, "%"},
		{"length of cut", c.TLOCMM, 2, 60, "mm"},
		{"roll gap", c.RollGapMM, 0, 20, "mm"},
		{"speed difference of the rolls", c.SpeedDiffPct, 0, 100, "%"},
		{"hours since the knives were sharpened", c.KnifeHours, 0, 1000, "h"},
		{"throughput", c.ThroughputTPH, 0, 1000, "t/h"},
	}
	for _, f := range fields {
		if f.v != nil && !(*f.v >= f.low && *f.v <= f.high && !math.IsNaN(*f.v)) {
			return fmt.Errorf("advice: the %s is %g %s; it must lie between %g and %g: check the unit", f.name, *f.v, f.unit, f.low, f.high)
		}
	}
	if c.State != "" && c.State != Fresh && c.State != Fermented {
		return fmt.Errorf("advice: the state %q is unknown; use fresh or fermented", c.State)
	}
	switch c.Process {
	case "", "conventional", "shredding", "unprocessed":
	default:
		return fmt.Errorf("advice: the process %q is unknown; use conventional, shredding or unprocessed", c.Process)
	}
	return nil
}

// ErrFermented says why kernels are not washed out of fermented silage.
var ErrFermented = errors.New("advice: the water test does not work on fermented silage: soaked stover sinks with the kernels and they will not separate (common practice); test fresh chop at harvest, or send the silage to a laboratory")

// GuardWaterTest refuses kernels won by the water test from fermented silage. Show is the value of the
// --show option; only "kernels" means the water test.
func GuardWaterTest(state, show string) error {
	if state == Fermented && show == "kernels" {
		return ErrFermented
	}
	return nil
}
