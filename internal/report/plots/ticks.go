package plots

import (
	"strconv"

	"gonum.org/v1/plot"
)

func ticks(most float64, at ...float64) []plot.Tick {
	var out []plot.Tick
	for _, v := range at {
		if v <= most {
			out = append(out, plot.Tick{Value: v, Label: label(v)})
		}
	}
	return out
}

func label(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// evenTicks are every 5, 10 or 20 %, by how far the axis goes.
func evenTicks(most float64) []plot.Tick {
	step := 5.0
	for most/step > 8 {
		step *= 2
	}
	var at []float64
	for v := 0.0; v <= min(most, 100); v += step {
		at = append(at, v)
	}
	return ticks(most, at...)
}
