package main

import (
	"slices"

	"gristmark/internal/fit/rows"
)

// example is a piece that was found, with what it truly is: 0 whole kernel, 1 broken, 2 stover,
// 3 nothing of the crop.
type example struct {
	scene int
	x     []float64
	class int
	kept  float64 // share of its own outline that a kernel keeps
}

// realWeight is how often each piece of a real photograph counts: there are few of them beside those that were rendered.
const realWeight = 10

// examplesFrom reads what was found in rendered scenes, and adds the real photographs.
func examplesFrom(base string) ([]example, int, error) {
	found, scenes, err := rows.Read(base)
	if err != nil {
		return nil, 0, err
	}
	var out []example
	for _, r := range found {
		out = append(out, example{r.Scene, r.X, r.Class, r.Kept})
	}
	return append(out, slices.Repeat(realExamples(scenes), realWeight)...), scenes, nil
}
