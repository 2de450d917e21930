package main

import (
	"gristmark/internal/fit/gather"
	"gristmark/internal/fit/rows"
)

// example is a piece that was found: its features, and the errors of its area.
type example struct {
	scene int
	class int // its place among kinds
	x     []float32
	off   gather.Areas
}

// kinds that the report tells apart.
var kinds = [...]string{"whole", "broken", "stover"}

// examplesFrom reads those finds whose area the truth tells.
func examplesFrom(base string) (out []example, scenes int, err error) {
	found, scenes, err := rows.Read(base)
	for _, r := range found {
		if !r.Told() {
			continue
		}
		e := example{scene: r.Scene, class: r.Class, off: r.Off}
		for _, v := range r.X {
			e.x = append(e.x, float32(v))
		}
		out = append(out, e)
	}
	return out, scenes, err
}
