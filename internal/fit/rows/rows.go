// Package rows holds what was found in rendered scenes with what it truly is, as the command closeup writes it and the fits of names and heights read it.
package rows

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"slices"

	"gristmark/internal/fit/gather"
	"gristmark/vision"
)

// Row is a find.
type Row struct {
	Scene  int
	Class  int          // 0 whole kernel, 1 broken, 2 stover, 3 nothing of the crop
	Kept   float64      // share of its own outline that a kernel keeps, else 0
	SideMM float64      // of its close-up
	Off    gather.Areas // not numbers where the truth cannot tell
	X      []float64    // features, as vision.FeatureNames has them
}

// Told reports whether the truth tells the find's area.
func (r *Row) Told() bool { return !math.IsNaN(r.Off[0]) }

// Places in a row of the file.
const (
	areasAt    = 4
	featuresAt = areasAt + len(gather.TriedMM)
)

// Append adds the row to a file's bytes: little-endian numbers of 32 bits.
func (r *Row) Append(b []byte) []byte {
	for _, v := range slices.Concat([]float64{float64(r.Scene), float64(r.Class), r.Kept, r.SideMM}, r.Off[:], r.X) {
		b = binary.LittleEndian.AppendUint32(b, math.Float32bits(float32(v)))
	}
	return b
}

// Read reads BASE.f32 and, where it is there, BASE.said: what networks of close-ups say that were not fitted on the row's scene, which takes the
// place of what the built-in one says. It gives the rows and the number of scenes.
func Read(base string) (all []Row, scenes int, err error) {
	b, err := os.ReadFile(base + ".f32")
	if err != nil {
		return nil, 0, err
	}
	width := featuresAt + len(vision.FeatureNames())
	if len(b) == 0 || len(b)%(4*width) != 0 {
		return nil, 0, fmt.Errorf("%s.f32 holds no whole rows of %d numbers: take the close-ups again", base, width)
	}
	all = make([]Row, len(b)/(4*width))
	for i := range all {
		all[i] = rowOf(numbers(b[4*width*i:], width))
		scenes = max(scenes, all[i].Scene+1)
	}
	return all, scenes, hear(all, base+".said")
}

func rowOf(v []float64) Row {
	return Row{int(v[0]), int(v[1]), v[2], v[3], gather.Areas(v[areasAt:featuresAt]), v[featuresAt:]}
}

func numbers(b []byte, n int) []float64 {
	out := make([]float64, n)
	for k := range out {
		out[k] = float64(math.Float32frombits(binary.LittleEndian.Uint32(b[4*k:])))
	}
	return out
}

// hear puts what a file's networks say into the rows; nothing where there is no such file.
func hear(all []Row, file string) error {
	b, err := os.ReadFile(file)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return err
	case len(b) != 4*vision.CloseUpSaid*len(all):
		return fmt.Errorf("%s speaks of other close-ups: %d bytes for %d rows", file, len(b), len(all))
	}
	for i := range all {
		said := vision.CloseUpFeatures(numbers(b[4*vision.CloseUpSaid*i:], vision.CloseUpSaid))
		copy(all[i].X[vision.CloseUpAt:], said[:])
	}
	return nil
}
