// Package gather looks at a folder of rendered scenes, as many at a time as there are processors.
package gather

import (
	"fmt"
	"path/filepath"
	"runtime"

	"golang.org/x/sync/errgroup"
)

// Scenes gives what of tells of each truth file in the folder, in their order, and the number of scenes. of gets the file and its
// place in that order. There is an error where the folder holds no scene, or the first of those that of gives.
func Scenes[T any](dir string, of func(file string, scene int) ([]T, error)) (all []T, scenes int, err error) {
	truths, err := filepath.Glob(filepath.Join(dir, "*.truth.json"))
	if err != nil || len(truths) == 0 {
		return nil, 0, fmt.Errorf("no scenes in %s: render some first", dir)
	}
	per := make([][]T, len(truths))
	var g errgroup.Group
	g.SetLimit(runtime.NumCPU())
	for i, file := range truths {
		g.Go(func() (err error) {
			per[i], err = of(file, i)
			return err
		})
	}
	if err := g.Wait(); err != nil {
		return nil, 0, err
	}
	for _, one := range per {
		all = append(all, one...)
	}
	return all, len(truths), nil
}
