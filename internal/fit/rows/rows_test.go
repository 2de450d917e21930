package rows

import (
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"gristmark/internal/fit/gather"
	"gristmark/vision"
)

func someRows() []Row {
	all := make([]Row, 3)
	for i := range all {
		all[i] = Row{Scene: 2 * i, Class: i, Kept: 0.25 * float64(i), SideMM: 8.5, X: make([]float64, len(vision.FeatureNames()))}
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

// What was written is read again; what the networks say takes the place of what the close-ups said; files that do not fit are refused.
func TestRead(t *testing.T) {
	base, all := filepath.Join(t.TempDir(), "found"), someRows()
	write(t, base, all)
	got, scenes, err := Read(base)
	if err != nil || scenes != 5 || len(got) != len(all) {
		t.Fatalf("%d rows of %d scenes, %v", len(got), scenes, err)
	}
	for i, r := range got {
		if r.Scene != all[i].Scene || r.Class != all[i].Class || r.Kept != all[i].Kept || r.SideMM != 8.5 || r.Off[5] != all[i].Off[5] || !slices.Equal(r.X, all[i].X) {
			t.Errorf("row %d: %+v, want %+v", i, r, all[i])
		}
		if r.Told() != (i != 1) {
			t.Errorf("row %d: its area is told: %v", i, r.Told())
		}
	}
	var said []byte
	for range all {
		for _, v := range [vision.CloseUpSaid]float32{1, 2, 6, 9, 0.5} {
			said = binary.LittleEndian.AppendUint32(said, math.Float32bits(v))
		}
	}
	if err := os.WriteFile(base+".said", said, 0o600); err != nil {
		t.Fatal(err)
	}
	got, _, err = Read(base)
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range got {
		if !near(r.X[vision.CloseUpAt:], []float64{-5.0248, -4.0248, -0.0248, 0.5}) || !slices.Equal(r.X[:vision.CloseUpAt], all[i].X[:vision.CloseUpAt]) {
			t.Errorf("row %d: %v", i, r.X)
		}
	}
	if err := os.WriteFile(base+".said", said[4:], 0o600); err != nil {
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
