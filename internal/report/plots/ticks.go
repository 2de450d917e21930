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
