package main

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"

	"gristmark/internal/accuracy/photographs"
	"gristmark/internal/result"
	"gristmark/internal/scene"
)

// fake is a program that answers every call alike.
func fake(t *testing.T, script string) program {
	t.Helper()
	path := filepath.Join(t.TempDir(), "gristmark")
	if err := os.WriteFile(path, []byte("#!/bin/sh\n"+script+"\n"), 0o755); err != nil {
		t.Fatal(err)
	}
	return program(path)
}

func TestMeasureTakesWhatTheProgramSays(t *testing.T) {
	doc, _ := fake(t, `echo '{"photos":[{"status":"refused","problem":"too dark"}]}'; exit 3`).measure("a.jpg")
	if p := doc.Photos[0]; p.Status != result.Refused || *p.Problem != "too dark" {
		t.Errorf("refusal: %+v", p)
	}
	doc, _ = fake(t, `test "$*" = "measure --json --outlines --show kernels a.jpg" && echo '{"photos":[{"status":"measured"}]}'`).measure("a.jpg", "--show", "kernels")
	if doc.Photos[0].Status != result.Measured {
		t.Errorf("measured: %+v", doc.Photos[0])
	}
}

func TestABreakdownRefusesThePhoto(t *testing.T) {
	for name, script := range map[string]string{
		"crash":      `echo one; echo "panic: two" >&2; exit 1`,
		"no output":  `exit 0`,
		"half a doc": `echo '{"photos":['; echo "panic: two" >&2`,
	} {
		doc, _ := fake(t, script).measure("a.jpg")
		if p := doc.Photos[0]; p.Status != result.Refused || !strings.HasPrefix(*p.Problem, "BROKE DOWN") {
			t.Errorf("%s: %+v", name, p)
		}
	}
}

func TestEachRunsAllAndTellsOfAnError(t *testing.T) {
	var ran atomic.Int64
	fault := errors.New("fault")
	err := each(20, 3, func(i int) error {
		ran.Add(1)
		if i == 7 {
			return fault
		}
		return nil
	})
	if ran.Load() != 20 || !errors.Is(err, fault) {
		t.Errorf("%d ran, error %v", ran.Load(), err)
	}
}

func TestNumbers(t *testing.T) {
	if got := number(math.NaN(), 1) + number(1.25, 1) + signed(-0.5, 1) + signed(math.NaN(), 1); got != "–1.2-0.5–" {
		t.Error(got)
	}
}

func TestWorstPhotographComesFirst(t *testing.T) {
	scores := []realScore{
		scoreReal(photographs.Photograph{Set: "a", Count: 10}, result.Photo{Status: result.Measured, Particles: make([]result.Particle, 12)}),
		scoreReal(photographs.Photograph{Set: "b", Count: 10}, result.Photo{Status: result.Refused}),
	}
	if scores[0].errorPct() != 20 || scores[1].errorPct() != -100 {
		t.Errorf("errors %v and %v, want +20 and -100", scores[0].errorPct(), scores[1].errorPct())
	}
	if text := realTable(scores, []string{"c/d.jpg"}); !strings.Contains(text, "b/ refused: no reason given") || !strings.Contains(text, "Absent on this machine: c/d.jpg.") {
		t.Error(text)
	}
}

func TestSeedsAndFamilies(t *testing.T) {
	seen := map[string]bool{}
	for part, of := range seeds {
		for _, f := range scene.Families() {
			for _, seed := range of(f, fullScenes) {
				key := fmt.Sprint(f.Name, seed)
				if seen[key] {
					t.Errorf("%s: seed %d of %s belongs to both parts", f.Name, seed, part)
				}
				seen[key] = true
			}
		}
	}
	for _, name := range shortFamilies {
		if _, ok := scene.FamilyNamed(name); !ok {
			t.Errorf("the short run names a family %q that is gone", name)
		}
	}
	if _, err := parse([]string{"--seeds", "both"}); err == nil {
		t.Error("--seeds both was accepted")
	}
}
