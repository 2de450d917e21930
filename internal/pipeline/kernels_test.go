package pipeline

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gristmark/internal/kernels"
)

func storedKernel(name string) kernels.Stored {
	return kernels.Stored{Schema: kernels.Schema, Name: name, N: 20, Photos: []string{"a.jpg"}, Ruler: "card", LengthMM: kernels.Spread{Mean: 11, SD: 0.9},
		WidthMM: kernels.Spread{Mean: 7.5, SD: 0.6}, AreaMM2: kernels.Spread{Mean: 66, SD: 8}, ThicknessMM: 4.7, ThicknessFrom: "assumed"}
}

func TestKernelsAreKeptListedAndForgotten(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "not [there] yet")
	if list, err := ListKernels(dir); err != nil || len(list) != 0 {
		t.Fatal(list, err)
	}
	for _, name := range []string{"LG 31.207", "8521"} {
		if _, err := KeepKernel(dir, storedKernel(name)); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "half.json"), []byte("{"), 0o666); err != nil {
		t.Fatal(err)
	}
	list, err := ListKernels(dir)
	if len(list) != 2 || list[0].Name != "8521" || err == nil || !strings.Contains(err.Error(), "half.json") {
		t.Errorf("listed %v, %v", list, err)
	}
	got, err := ReadKernel(dir, "LG 31.207")
	if err != nil || got.AreaMM2.Mean != 66 {
		t.Errorf("read %+v, %v", got, err)
	}
	if err := ForgetKernel(dir, "8521"); err != nil {
		t.Error(err)
	}
	for _, name := range []string{"8521", "../half"} {
		if err := ForgetKernel(dir, name); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("forgot %q: %v", name, err)
		}
	}
	if _, err := ReadKernel(dir, "8521"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("read a forgotten kernel: %v", err)
	}
}

// A stored kernel goes into measuring, judging and what is told, by its name; another one is another measurement.
func TestStoredKernelIsTold(t *testing.T) {
	opt := DefaultOptions()
	opt.Kernel = StoredKernel(storedKernel("x"))
	u := opt.Judging().Kernel
	if !u.Measured || u.AreaMM2 != 66 || u.ThicknessMM != 4.7 || u.From != "stored kernel x" {
		t.Errorf("judged with %+v", u)
	}
	if told := strings.Join(opt.Assumed(), "\n"); !strings.Contains(told, "stored kernel x, 11.0 × 7.5 mm and 66 mm²; its thickness, 4.7 mm, is assumed") || strings.Contains(told, "Sezer") {
		t.Error(told)
	}
	other := opt
	other.Kernel.AreaMM2++
	if s := (Store{}); s.key("x", opt) == s.key("x", other) {
		t.Error("another kernel finds the same measurement")
	}
}
