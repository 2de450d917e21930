package main

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gristmark/internal/harvest"
	"gristmark/internal/result"
)

func smallPhoto(t *testing.T) []byte {
	t.Helper()
	data, err := renderOnce(smallScene(), 1, ".jpg", 1, 0, "measurer")
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// A photo measured in a process of its own gives the document that a person's corrections then change.
func TestMeasurerMeasuresAndJudges(t *testing.T) {
	m, ctx := realMeasurer(t), t.Context()
	dm, tloc := 34.0, 19.0
	settings := harvest.Settings{Field: "Long Acre", DMPct: &dm, TLOCMM: &tloc}
	p, overlay, keep, err := m.MeasurePhoto(ctx, "a.jpg", smallPhoto(t), settings)
	if err != nil || p.Status != result.Measured || len(p.Particles) < 20 {
		t.Fatalf("%s, %d pieces, %v", p.Status, len(p.Particles), err)
	}
	if !strings.HasPrefix(string(overlay), "\xff\xd8") || len(keep) == 0 || len(keep) > 1<<20 {
		t.Errorf("overlay of %d bytes, %d kept", len(overlay), len(keep))
	}
	p.File = "theid"
	judged := func(corrections ...harvest.Correction) result.Document {
		doc, err := m.Judge(ctx, []result.Photo{p}, [][]byte{keep}, settings, "", corrections)
		if err != nil || doc.Sample == nil || doc.Sample.Kernels == nil {
			t.Fatalf("judged %+v, %v", doc.Sample, err)
		}
		return doc
	}
	doc := judged()
	if doc.Settings == nil || doc.Settings.Field != "Long Acre" || doc.Sample.Kernels.Passing475Pct == nil || doc.Version != m.Version() {
		t.Errorf("document %+v", doc.Settings)
	}
	var broken int
	for _, q := range p.Particles {
		if q.Class == result.BrokenKernel {
			broken = q.ID
			break
		}
	}
	named := judged(harvest.Correction{PhotoID: "theid", ID: broken, Class: result.WholeKernel}, harvest.Correction{PhotoID: "theid", ID: 9999, Class: result.Stover})
	if named.Sample.Kernels.Whole != doc.Sample.Kernels.Whole+1 || named.Sample.Kernels.Broken != doc.Sample.Kernels.Broken-1 {
		t.Errorf("whole %d, broken %d, before %d and %d", named.Sample.Kernels.Whole, named.Sample.Kernels.Broken, doc.Sample.Kernels.Whole, doc.Sample.Kernels.Broken)
	}
	if notes := strings.Join(named.Sample.Notes, "\n"); !strings.Contains(notes, "1 correction(s) speak of pieces") {
		t.Errorf("notes %s", notes)
	}
	if again := judged(); again.Sample.Kernels.Whole != doc.Sample.Kernels.Whole {
		t.Error("a judgement changed the photo that it was given")
	}
	if same := judged().Sample; *same.Kernels.Passing475Pct != *doc.Sample.Kernels.Passing475Pct {
		t.Error("the same photo was judged otherwise")
	}
}

// What cannot be used of a load's settings refuses the photo with the reason, or is left out and said.
func TestMeasurerOfUnusableSettings(t *testing.T) {
	m, ctx := realMeasurer(t), t.Context()
	for _, c := range []struct {
		s    harvest.Settings
		want string
	}{
		{harvest.Settings{Show: "everything"}, "choose kernels, pieces or mixed"},
		{harvest.Settings{Scale: "about a hand"}, ""},
		{harvest.Settings{Show: "kernels", State: "fermented"}, "water test"},
	} {
		p, _, keep, err := m.MeasurePhoto(ctx, "a.jpg", smallPhoto(t), c.s)
		if err != nil || p.Status != result.Refused || p.Problem == nil || !strings.Contains(*p.Problem, c.want) {
			t.Errorf("%+v: %s, %v", c.s, p.Status, err)
			continue
		}
		if doc, err := m.Judge(ctx, []result.Photo{p}, [][]byte{keep}, c.s, "", nil); err != nil || doc.Sample != nil || len(doc.Photos) != 1 {
			t.Errorf("judged %+v, %v", doc, err)
		}
	}
	far := 900.0
	if _, doubts := settingsOptions(harvest.Settings{TLOCMM: &far, Kernel: "big", Process: "teeth"}, "no such targets"); len(doubts) != 3 {
		t.Errorf("doubts %q", doubts)
	}
}

// A process that crashes, answers nonsense or takes forever is an error with a sentence, and ends nothing else.
func TestMeasurerSurvivesItsProcess(t *testing.T) {
	m := realMeasurer(t)
	script := func(text string) {
		m.program = filepath.Join(t.TempDir(), "program")
		if err := os.WriteFile(m.program, []byte("#!/bin/sh\n"+text), 0o700); err != nil {
			t.Fatal(err)
		}
	}
	for text, want := range map[string]string{
		"kill -SEGV $$":       "crash or for want of memory",
		"kill -KILL $$":       "crash or for want of memory",
		"cat >/dev/null":      "cannot be read",
		"echo no >&2; exit 1": "measuring failed",
	} {
		script(text)
		if _, _, _, err := m.MeasurePhoto(t.Context(), "a.jpg", make([]byte, 5<<20), harvest.Settings{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", text, err)
		}
	}
	script("exec sleep 60")
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	begun := time.Now()
	if _, _, _, err := m.MeasurePhoto(ctx, "a.jpg", nil, harvest.Settings{}); !errors.Is(err, context.DeadlineExceeded) || time.Since(begun) > 20*time.Second {
		t.Errorf("given up after %s: %v", time.Since(begun), err)
	}
}
