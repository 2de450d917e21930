package main

import (
	"encoding/gob"
	"errors"
	"io/fs"
	"os"
)

// found is what a look at the scenes gave.
type found struct {
	Scenes   int
	Examples []kept
}

// kept is an example as the file stores it.
type kept struct {
	Scene, Class int
	X            []float64
	Kept, Area   float64
}

// examplesFrom reads the examples from the file if it is there, else gathers and stores them.
func examplesFrom(dir, file string) ([]example, int, error) {
	if file == "" {
		return gatherAll(dir)
	}
	f, err := os.Open(file)
	if errors.Is(err, fs.ErrNotExist) {
		return gatherInto(dir, file)
	}
	if err != nil {
		return nil, 0, err
	}
	defer f.Close()
	var all found
	if err := gob.NewDecoder(f).Decode(&all); err != nil {
		return nil, 0, err
	}
	out := make([]example, len(all.Examples))
	for i, k := range all.Examples {
		out[i] = example{scene: k.Scene, x: k.X, class: k.Class, kept: k.Kept, area: k.Area}
	}
	return out, all.Scenes, nil
}

func gatherInto(dir, file string) ([]example, int, error) {
	examples, n, err := gatherAll(dir)
	if err != nil {
		return nil, 0, err
	}
	all := found{Scenes: n}
	for _, e := range examples {
		all.Examples = append(all.Examples, kept{e.scene, e.class, e.x, e.kept, e.area})
	}
	f, err := os.Create(file)
	if err != nil {
		return nil, 0, err
	}
	if err := gob.NewEncoder(f).Encode(all); err != nil {
		f.Close()
		return nil, 0, err
	}
	return examples, n, f.Close()
}
