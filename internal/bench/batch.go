package main

import (
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"gristmark/internal/scene"
)

// batchBench is a folder of small and full-size photos, one in so many broken, scored with one and with two processors, and a quarter of
// it. The photos are copies of a few rendered ones, each with a comment of its own so that each is measured.
type batchBench struct {
	Small, Full int // photos
	BrokenEvery int // one in so many is cut short or no photo at all
}

// What is rendered, and the photos of a load.
const (
	smallScenes = 12
	fullScenes  = 3
	loadPhotos  = 4
)

// To reach.
const (
	leastSpeedup = 1.8
	mostGrowth   = 1.15 // peak memory of the folder over that of a quarter of it
)

// batchRun is what one run took.
type batchRun struct {
	name    string
	photos  int
	seconds float64 // by the clock
	cpu     float64 // of the processors
	peakMB  float64
}

func (b batchBench) run(self string, opt options) error {
	pictures, err := b.pictures(self, opt.Cache)
	if err != nil {
		return err
	}
	quarter := batchBench{b.Small / 4, b.Full / 4, b.BrokenEvery}
	var runs []batchRun
	for _, r := range []struct {
		name       string
		of         batchBench
		processors int
	}{{"quarter, 2 processors", quarter, 2}, {"whole, 2 processors", b, 2}, {"whole, 1 processor", b, 1}} {
		folder := filepath.Join(opt.Cache, "folder")
		if err := r.of.fill(folder, pictures); err != nil {
			return err
		}
		took, err := scoreFolder(opt.Program, folder, filepath.Join(opt.Cache, "results"), r.processors)
		if err != nil {
			return err
		}
		took.name, took.photos = r.name, r.of.Small+r.of.Full
		runs = append(runs, took)
		fmt.Fprintf(os.Stderr, "bench: %s: %.0f s\n", took.name, took.seconds)
	}
	fmt.Print(b.report(runs))
	return nil
}

// pictures renders what is not there yet: small ones first, then full-size ones.
func (b batchBench) pictures(self, cache string) (paths []string, err error) {
	for i := range smallScenes + fullScenes {
		kind := "small"
		if i >= smallScenes {
			kind = "full"
		}
		path := filepath.Join(cache, fmt.Sprintf("batch-%s-%d.jpg", kind, i))
		if _, err := os.Stat(path); err != nil {
			cmd := exec.Command(self, partFlag, "render-"+kind, path, fmt.Sprint(i+1))
			cmd.Stderr = os.Stderr
			if err := cmd.Run(); err != nil {
				return nil, err
			}
		}
		paths = append(paths, path)
	}
	return paths, nil
}

// fill makes the folder: loads of a few photos, each with its own bytes.
func (b batchBench) fill(folder string, pictures []string) error {
	if err := os.RemoveAll(folder); err != nil {
		return err
	}
	for i := range b.Small + b.Full {
		from := pictures[i%smallScenes]
		if i%((b.Small+b.Full)/max(1, b.Full)) == 0 && i/((b.Small+b.Full)/max(1, b.Full)) < b.Full {
			from = pictures[smallScenes+i%fullScenes] // spread among the small ones
		}
		data, err := os.ReadFile(from)
		if err != nil {
			return err
		}
		data = commented(data, fmt.Sprintf("photo %d", i))
		switch {
		case i%(2*b.BrokenEvery) == 1:
			data = data[:len(data)*2/3]
		case i%(2*b.BrokenEvery) == 1+b.BrokenEvery:
			data = []byte(fmt.Sprintf("no photo %d", i))
		}
		path := filepath.Join(folder, fmt.Sprintf("load%04d", i/loadPhotos), fmt.Sprintf("%d.jpg", i))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(path, data, 0o644); err != nil {
			return err
		}
	}
	return nil
}

// commented puts a comment behind the first marker of a JPEG.
func commented(jpeg []byte, text string) []byte {
	out := append([]byte{}, jpeg[:2]...)
	out = append(out, 0xFF, 0xFE)
	out = binary.BigEndian.AppendUint16(out, uint16(len(text)+2))
	out = append(out, text...)
	return append(out, jpeg[2:]...)
}

// scoreFolder runs batch from nothing, bound to so many processors, and demands that it ends as it does with some photos refused.
func scoreFolder(program, folder, results string, processors int) (batchRun, error) {
	var r batchRun
	if err := os.RemoveAll(results); err != nil {
		return r, err
	}
	command := []string{program, "batch", folder, "--out", results, "--workers", fmt.Sprint(processors), "--quiet"}
	if path, err := exec.LookPath("taskset"); err == nil {
		command = append([]string{path, "-c", fmt.Sprintf("0-%d", processors-1)}, command...)
	}
	cmd := exec.Command(command[0], command[1:]...)
	cmd.Env = append(os.Environ(), fmt.Sprintf("GOMAXPROCS=%d", processors))
	var said strings.Builder
	cmd.Stderr = &said
	began := time.Now()
	err := cmd.Run()
	r.seconds = time.Since(began).Seconds()
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.ExitCode() != 3 {
		return r, fmt.Errorf("bench: batch ended with %v: %s", err, said.String())
	}
	usage, ok := cmd.ProcessState.SysUsage().(*syscall.Rusage)
	if !ok {
		return r, errors.New("bench: this system does not tell what a process used")
	}
	r.cpu, r.peakMB = used(*usage).Seconds(), float64(usage.Maxrss)/1024
	return r, nil
}

// report prints the runs: quarter, whole, and whole on one processor.
func (b batchBench) report(runs []batchRun) string {
	quarter, two, one := runs[0], runs[1], runs[2]
	var s strings.Builder
	fmt.Fprintf(&s, "%d small photos (%d × %d px) and %d of 12 megapixels, one in %d broken, from nothing\n\n", b.Small, smallWidthPx, smallHeightPx, b.Full, b.BrokenEvery)
	fmt.Fprintf(&s, "| run | photos | s | photos a minute | processor s a photo | peak MB |\n|---|---:|---:|---:|---:|---:|\n")
	for _, r := range runs {
		fmt.Fprintf(&s, "| %s | %d | %.0f | %.1f | %.2f | %.0f |\n", r.name, r.photos, r.seconds, 60*float64(r.photos)/r.seconds, r.cpu/float64(r.photos), r.peakMB)
	}
	verdict := func(ok bool) string {
		if ok {
			return "reached"
		}
		return "NOT reached"
	}
	speedup, growth := one.seconds/two.seconds, two.peakMB/quarter.peakMB
	fmt.Fprintf(&s, "\n- two processors over one: %.2f times (at least %g: %s)\n", speedup, leastSpeedup, verdict(speedup >= leastSpeedup))
	fmt.Fprintf(&s, "- peak memory of four times the photos: %.2f times (at most %g: %s)\n", growth, mostGrowth, verdict(growth <= mostGrowth))
	return s.String()
}

// Size of a small photo, px.
const (
	smallWidthPx  = 1200
	smallHeightPx = 900
)

// renderFor draws the photo of the batch part, its seed in digits.
func renderFor(kind, photo string, seed uint64) error {
	family, ok := scene.FamilyNamed("mixed")
	if !ok {
		return errors.New("bench: the renderer has no family mixed")
	}
	settings := family.Settings
	settings.WidthPx, settings.HeightPx = widthPx, heightPx
	if kind == "small" {
		settings.WidthPx, settings.HeightPx = smallWidthPx, smallHeightPx
		settings.Camera.HeightMM, settings.Camera.TiltDeg, settings.Camera.OffCentreMM = scene.Range{165, 170}, scene.Range{0, 4}, scene.Range{0, 2}
		settings.Place.Kernels, settings.Place.Pieces = scene.Range{22, 26}, scene.Range{12, 16}
	}
	return draw(settings, seed, photo)
}
