package plots

import (
	"math"

	"gonum.org/v1/plot"

	"gristmark/internal/words"
)

func ticks(say *words.Words, most float64, at ...float64) []plot.Tick {
	var out []plot.Tick
	for _, v := range at {
		if v <= most {
			out = append(out, plot.Tick{Value: v, Label: say.Trimmed(v, 2)})
		}
	}
	return out
}

// lengthTicks are the marks of an axis in mm up to most mm, labelled in the unit of lengths: at the mm given, or at the inches.
func lengthTicks(say *words.Words, most float64, mm, inches []float64) []plot.Tick {
	if say.Units() == words.Metric {
		return ticks(say, most, mm...)
	}
	var out []plot.Tick
	for _, in := range inches {
		if v := in / say.InLengthUnit(1); v <= most {
			out = append(out, plot.Tick{Value: v, Label: say.Trimmed(in, 2)})
		}
	}
	return out
}

// evenTicks are every 5, 10 or 20 %, by how far the axis goes.
func evenTicks(say *words.Words, most float64) []plot.Tick {
	step := 5.0
	for most/step > 8 {
		step *= 2
	}
	var at []float64
	for v := 0.0; v <= min(most, 100); v += step {
		at = append(at, v)
	}
	return ticks(say, most, at...)
}

// ticksFrom are every 10 within a range.
func ticksFrom(say *words.Words, low, high float64) []plot.Tick {
	var at []float64
	for v := 10 * math.Ceil(low/10); v <= high; v += 10 {
		at = append(at, v)
	}
	return ticks(say, high, at...)
}

// numberTicks are gonum's own marks, labelled in the language's form.
type numberTicks struct{ say *words.Words }

// Ticks labels the major marks.
func (n numberTicks) Ticks(low, high float64) []plot.Tick {
	marks := plot.DefaultTicks{}.Ticks(low, high)
	for i := range marks {
		if marks[i].Label != "" {
			marks[i].Label = n.say.Trimmed(marks[i].Value, 4)
		}
	}
	return marks
}
