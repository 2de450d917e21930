// Package rows holds what was found in rendered scenes with what it truly is, as the command closeup writes it and the fits of the close-ups and of the names read it.
package rows

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"slices"

	"gristmark/internal/fit/gather"
	"gristmark/internal/result"
	"gristmark/vision"
)

// Row is a find.
type Row struct {
	Scene  int
	Class  int          // 0 whole kernel, 1 broken, 2 stover, 3 nothing of the crop
	Kept   float64      // share of its own outline that a kernel keeps, else 0
	SideMM float64      // of its close-up
	Lean   result.XY    // of the line of sight
	PerMM  float64      // share by which the area grows for each mm that its outline moves outward
	Drawn  float64      // by how much the log of the area inside the outline is too large, of that which the photo truly shows
	Off    gather.Areas // not numbers where the truth cannot tell, as Drawn
	X      []float64    // features, as vision.FeatureNames has them
}

// Places in a row of the file.
const (
	areasAt    = 8
	featuresAt = areasAt + len(gather.TriedMM)
)

// Append adds the row to a file's bytes: little-endian numbers of 32 bits.
func (r *Row) Append(b []byte) []byte {
	for _, v := range slices.Concat([]float64{float64(r.Scene), float64(r.Class), r.Kept, r.SideMM, r.Lean[0], r.Lean[1], r.PerMM, r.Drawn}, r.Off[:], r.X) {
		b = binary.LittleEndian.AppendUint32(b, math.Float32bits(float32(v)))
	}
	return b
}

// Read reads BASE.f32 and BASE.said: what networks of close-ups say that were not fitted on the row's scene, which takes the place of what the built-in
// one says. It gives the rows and the number of scenes.
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
	return Row{int(v[0]), int(v[1]), v[2], v[3], result.XY{v[4], v[5]}, v[6], v[7], gather.Areas(v[areasAt:featuresAt]), v[featuresAt:]}
}

func numbers(b []byte, n int) []float64 {
	out := make([]float64, n)
	for k := range out {
		out[k] = float64(math.Float32frombits(binary.LittleEndian.Uint32(b[4*k:])))
	}
	return out
}

// hear puts what a file's networks say into the rows.
func hear(all []Row, file string) error {
	b, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	if len(b) != 4*vision.CloseUpSaid*len(all) {
		return fmt.Errorf("%s speaks of other close-ups: %d bytes for %d rows", file, len(b), len(all))
	}
	for i := range all {
		all[i].hear(numbers(b[4*vision.CloseUpSaid*i:], vision.CloseUpSaid))
	}
	return nil
}

// hear takes over the features that a network says.
func (r *Row) hear(said []float64) {
	f := vision.CloseUpFeatures(said)
	copy(r.X[vision.CloseUpAt:], f[:])
}
