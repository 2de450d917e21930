package main

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

// killsVar tells how often the test below kills a run; 3 times unless set.
const killsVar = "GRISTMARK_KILLS"

// killSeed makes the points of time the same each time, as parts of how long a whole run takes.
const killSeed = 20260917

// A run that is killed at any point, with no chance to clean up, is taken up by the same command, and its results are those of a run that
// was left alone, byte for byte. Nothing is left of files that were half written.
func TestKilledAnywhere(t *testing.T) {
	kills := 3
	if s := os.Getenv(killsVar); s != "" {
		var err error
		if kills, err = strconv.Atoi(s); err != nil {
			t.Fatalf("%s: %v", killsVar, err)
		}
	}
	dir := t.TempDir()
	photos := filepath.Join(dir, "photos")
	killFolder(t, photos)
	batch := func(out string) *exec.Cmd {
		cmd := exec.Command("gristmark", "batch", photos, "--out", filepath.Join(dir, out), "--plots", "svg", "--pdf", "a4")
		cmd.Env = append(os.Environ(), "LC_ALL=C")
		return cmd
	}
	began := time.Now()
	said, err := batch("whole").CombinedOutput()
	if exit, ok := err.(*exec.ExitError); !ok || exit.ExitCode() != statusRefused || bytes.Count(said, []byte(": measured\n")) != 5 {
		t.Fatalf("%v: %s", err, said)
	}
	took := time.Since(began)
	want := files(t, filepath.Join(dir, "whole"))
	rng := rand.New(rand.NewPCG(killSeed, 1))
	for k := range kills {
		// Spread over the whole run, each somewhere in its stretch.
		at := time.Duration((float64(k) + rng.Float64()) / float64(kills) * float64(took))
		out := fmt.Sprintf("killed%d", k)
		for { // a quieter machine ends sooner than the first time: then somewhere in the time that it took
			ended, took := killAfter(t, batch(out), at)
			if !ended {
				break
			}
			at = time.Duration(rng.Float64() * float64(took))
			if err := os.RemoveAll(filepath.Join(dir, out)); err != nil {
				t.Fatal(err)
			}
		}
		said, err := batch(out).CombinedOutput()
		if exit, ok := err.(*exec.ExitError); !ok || exit.ExitCode() != statusRefused {
			t.Fatalf("killed after %v of %v, then: %v: %s", at, took, err, said)
		}
		t.Logf("killed after %v of %v, then %d photos found again", at, took, bytes.Count(said, []byte("measured before")))
		if got := files(t, filepath.Join(dir, out)); got != want {
			t.Errorf("killed after %v of %v, the results differ:\n%s", at, took, differing(want, got))
		}
		if err := os.RemoveAll(filepath.Join(dir, out)); err != nil {
			t.Fatal(err)
		}
	}
}

// killFolder draws small photos of some loads, with a harvest.csv and a file that is no photo.
func killFolder(t *testing.T, folder string) {
	t.Helper()
	s := smallScene()
	s.WidthPx, s.HeightPx = 800, 600
	s.Scale.Sheet = "card"
	for seed := range uint64(5) {
		data, err := renderOnce(s, seed+1, ".jpg", 1, 0, fmt.Sprint("kill ", seed))
		if err != nil {
			t.Fatal(err)
		}
		put(t, filepath.Join(folder, fmt.Sprintf("load%d", seed/2), fmt.Sprintf("%d.jpg", seed)), data)
	}
	put(t, filepath.Join(folder, "load9", "text.jpg"), []byte("not a photo"))
	put(t, filepath.Join(folder, "harvest.csv"), []byte("load,field,tloc_mm\nload0,Long Acre,19\n"))
}

func put(t *testing.T, path string, data []byte) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
}

// killAfter starts the command and kills it; it reports whether, and when, it had ended by itself.
func killAfter(t *testing.T, cmd *exec.Cmd, at time.Duration) (ended bool, took time.Duration) {
	t.Helper()
	began := time.Now()
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	over := make(chan error, 1)
	go func() { over <- cmd.Wait() }()
	select {
	case <-time.After(at):
		_ = cmd.Process.Kill() // SIGKILL; it may end this moment
		<-over
	case <-over:
	}
	return cmd.ProcessState.Exited(), time.Since(began)
}

// files lists the files under a folder with their contents' hashes, without those that hold what was measured.
func files(t *testing.T, dir string) string {
	t.Helper()
	var lines []string
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && d.Name() == ".gristmark":
			return halfWritten(path)
		case d.IsDir():
			return nil
		}
		data, err := os.ReadFile(path)
		lines = append(lines, fmt.Sprintf("%x %s", sha256.Sum256(data), strings.TrimPrefix(path, dir)))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return strings.Join(lines, "\n")
}

// halfWritten looks for what a killed run left among the photos that are kept, and skips the folder.
func halfWritten(store string) error {
	left, err := filepath.Glob(filepath.Join(store, "*", ".gristmark-*"))
	if err == nil && len(left) > 0 {
		err = fmt.Errorf("half written: %v", left)
	}
	if err != nil {
		return err
	}
	return fs.SkipDir
}

func differing(a, b string) string {
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	var out []string
	for _, l := range x {
		if !slices.Contains(y, l) {
			out = append(out, "- "+l)
		}
	}
	for _, l := range y {
		if !slices.Contains(x, l) {
			out = append(out, "+ "+l)
		}
	}
	return strings.Join(out, "\n")
}
