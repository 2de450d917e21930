package rows

import (
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"gristmark/internal/fit/gather"
	"gristmark/internal/result"
	"gristmark/vision"
)

func someRows() []Row {
	all := make([]Row, 3)
	for i := range all {
		all[i] = Row{Scene: 2 * i, Class: i, Kept: 0.25 * float64(i), SideMM: 9, Lean: result.XY{0.25, -0.5}, PerMM: 0.5, Drawn: 0.125, X: make([]float64, len(vision.FeatureNames()))}
		for k := range gather.TriedMM {
			all[i].Off[k] = float64(k) / 8
		}
		for k := range all[i].X {
			all[i].X[k] = float64(i*k) / 4
		}
	}
	all[1].Off[0] = math.NaN()
	return all
}

func write(t *testing.T, base string, all []Row) {
	t.Helper()
	var b []byte
	for i := range all {
		b = all[i].Append(b)
	}
	if err := os.WriteFile(base+".f32", b, 0o600); err != nil {
		t.Fatal(err)
	}
}

func near(a, b []float64) bool {
	for k := range a {
		if math.Abs(a[k]-b[k]) > 1e-3 {
			return false
		}
	}
	return len(a) == len(b)
}

// heard is a file of what networks say, the same of each of n close-ups.
func heard(n int) (said []byte) {
	for range n {
		for _, v := range [vision.CloseUpSaid]float32{1, 2, 6, 9, 0.5, 0.125} {
			said = binary.LittleEndian.AppendUint32(said, math.Float32bits(v))
		}
	}
	return said
}

// What was written is read again; what the networks say takes the place of what the close-ups said.
func TestRead(t *testing.T) {
	base, all := filepath.Join(t.TempDir(), "found"), someRows()
	write(t, base, all)
	if err := os.WriteFile(base+".said", heard(len(all)), 0o600); err != nil {
		t.Fatal(err)
	}
	got, scenes, err := Read(base)
	if err != nil || scenes != 5 || len(got) != len(all) {
		t.Fatalf("%d rows of %d scenes, %v", len(got), scenes, err)
	}
	for i, r := range got {
		want := all[i]
		if r.Scene != want.Scene || r.Class != want.Class || r.Kept != want.Kept || r.SideMM != 9 || r.Lean != want.Lean || r.PerMM != 0.5 || r.Drawn != 0.125 {
			t.Errorf("row %d: %+v, want %+v", i, r, want)
		}
		if r.Off[5] != want.Off[5] {
			t.Errorf("row %d: an area off by %g, want %g", i, r.Off[5], want.Off[5])
		}
		if !near(r.X[vision.CloseUpAt:], []float64{-5.0248, -4.0248, -0.0248, 0.5}) || !slices.Equal(r.X[:vision.CloseUpAt], want.X[:vision.CloseUpAt]) {
			t.Errorf("row %d: %v", i, r.X)
		}
		if math.IsNaN(r.Off[0]) != (i == 1) {
			t.Errorf("row %d: its area is off by %g", i, r.Off[0])
		}
	}
}

// Files that do not fit are refused: nothing said, said of other close-ups, and no whole rows.
func TestReadRefuses(t *testing.T) {
	base, all := filepath.Join(t.TempDir(), "found"), someRows()
	write(t, base, all)
	if _, _, err := Read(base); err == nil {
		t.Error("rows of which no network says anything are taken")
	}
	if err := os.WriteFile(base+".said", heard(len(all))[4:], 0o600); err != nil {
		t.Fatal(err)
	}
	if _, _, err := Read(base); err == nil {
		t.Error("what is said of other close-ups is taken")
	}
	for _, n := range []int64{0, 100} {
		if err := os.Truncate(base+".f32", n); err != nil {
			t.Fatal(err)
		}
		if _, _, err := Read(base); err == nil {
			t.Errorf("a file of %d bytes is taken", n)
		}
	}
}
