package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gristmark/internal/words/spoken"
)

// A document as measure prints it, with everything that text can say of a sample: refused photos, failed checks, notes, advice.
const spokenDocument = `{"schema": "gristmark.sample/1", "photos": [
 {"file": "a.jpg", "sha256": "a", "width_px": 4000, "height_px": 3000, "taken_at": "2026-09-12T10:14:00Z", "status": "measured", "problem": null,
  "scale": {"from": "card", "mm_per_px": 0.0577, "relative_sd": 0.004, "residual_px": 0.2, "tilt_deg": 8.1},
  "checks": [{"name": "sharpness", "ok": true, "value": 0.6, "limit": 0.3, "unit": "1", "advice": ""},
   {"name": "glare", "ok": false, "value": 0.41, "limit": 0.25, "unit": "share of piece area", "advice": "the pieces shine: turn the tray out of the sun or the flash off, and take it again"}],
  "particles": [
   {"id": 1, "class": "whole_kernel", "probability": 0.97, "at_px": [1012, 880], "length_mm": 11.4, "width_mm": 8.2, "area_mm2": 74, "kernel_share": 0.98, "p_whole": 0.97, "p_broken": 0.03, "max_feret_mm": 11.4, "min_feret_mm": 8.2, "weight": 1},
   {"id": 2, "class": "unsure", "probability": 0.5, "at_px": [1512, 880], "length_mm": 6.1, "width_mm": 4.2, "area_mm2": 20, "kernel_share": 0.3, "p_broken": 0.5, "p_stover": 0.5, "weight": 1}]},
 {"file": "b.jpg", "sha256": "b", "status": "refused", "problem": "no ruler found: no card or mat in the photo; lay one flat beside the pieces, or name another ruler with --scale", "scale": null, "checks": [], "particles": []},
 {"file": "c.jpg", "sha256": "a", "status": "measured", "problem": null, "scale": null, "checks": [], "particles": [], "duplicate_of": "a.jpg"}],
 "sample": {"state": "fresh",
  "kernels": {"whole": 12, "broken": 80, "whole_pct": {"value": 13, "low": 8.1, "high": 20.2, "level": 0.95}, "passing_4_75_pct": {"value": 61.5, "low": 57, "high": 66, "level": 0.95},
   "smallest_counted_mm": 0.9, "unbroken_area_mm2": 62, "unbroken_from": "default", "basis": "from outlines, not corrected to a laboratory"},
  "pieces": {"n": 140, "geometric_mean_mm": {"value": 10.2, "low": 9.6, "high": 10.9, "level": 0.95}, "geometric_sd": 1.9,
   "length_classes_pct": {"over_19": 7, "8_to_19": 55, "4_to_8": 27, "under_4": 11},
   "box_pct": {"top": {"value": 6, "low": 3, "high": 10, "level": 0.95}, "middle": {"value": 52, "low": 46, "high": 60, "level": 0.95}, "lower": {"value": 28, "low": 20, "high": 34, "level": 0.95}, "pan": {"value": 14, "low": 8, "high": 20, "level": 0.95}}},
  "verdict": {"kernels": "short_of_target", "pieces": "undecided", "targets": "maize-silage/conventional"},
  "advice": [{"do": "Close the roll gap from 2.5 to 2 mm.", "why": "An estimated 61.5 % of the kernel mass would pass 4.75 mm, the mark is 70 %. A gap of 3 mm left 3 % of kernels undamaged, 5 mm 12 %, 1 mm virtually none (Shinners, trade press).",
   "check": "After two loads take a fresh sample, photograph or shake it the same way, and hold it against this one with gristmark compare.",
   "caution": "Stop the machine, switch it off, lock it out and wait until rolls and cutterhead stand still before a guard is opened. The manual and the dealer decide the settings. This rests on photos, not on a laboratory score."}],
  "notes": ["1 photo(s) are copies of a file given before and were counted once", "a.jpg: left out as a faint stain: 1; left out as the edge of tray or ruler: 2"]},
 "assumed": ["an unbroken kernel is taken as 10.54 × 7.26 × 4.57 mm (Sezer et al., African Journal of Biotechnology); --kernel tells this crop's", "the tray is taken to show kernels and stover together; --show kernels or --show pieces tells otherwise"]}`

const spokenShakes = "shake,sieve,mass_g,put_in_g,whole_kernels,large_pieces,counted_g\n" +
	"1,top,60,520,2,5,60\n1,middle,210,520,7,20,210\n1,lower,150,520,1,12,150\n1,pan,80,520,0,3,80\n" +
	"2,top,66,510,1,6,66\n2,middle,205,510,6,22,205\n2,lower,148,510,2,9,148\n2,pan,83,510,0,2,83\n"

// saidBy runs a command in a folder with the files that it reads, and returns what it says for people, both ways out together.
func saidBy(t *testing.T, args ...string) string {
	t.Helper()
	var out bytes.Buffer
	run(append([]string{"gristmark"}, args...), strings.NewReader(""), &out, &out)
	return out.String()
}

// mainCommands are what people ask most, with something wrong in some.
var mainCommands = [][]string{
	{"measure", "--from", "sample.json", "--gap", "2.5", "--tloc", "19"},
	{"measure", "--from", "sample.json", "--gap", "1", "--dm", "38", "--speed-diff", "20", "--throughput", "250"},
	{"measure", "none.jpg"},
	{"measure"},
	{"measure", "a.jpg", "--show", "grain"},
	{"measure", "a.jpg", "--nonsense"},
	{"measure", "a.jpg", "--tloc", "190"},
	{"measure", "a.jpg", "--dm", "dry"},
	{"nonsense"},
	{"sieve", "shakes.csv", "--ndf", "45", "--gap", "2.5", "--knife-hours", "30"},
	{"sieve", "--mass", "top=12,middle=340,lower=120,pan=28", "--tloc", "17"},
	{"sieve", "--mass", "top=12,middle=340,lower=120"},
	{"sieve", "bad.csv"},
	{"compare", "shakes.csv", "shakes.csv", "--label-a", "A", "--label-b", "B"},
	{"compare", "sample.json", "shakes.csv"},
	{"plan", "shakes.csv"}, {"plan"}, {"plan", "--within", "0.1"},
	{"cup", "--count", "5", "--cups", "2"},
	{"lab", "fit", "pairs.csv", "--out", "farm.json"},
	{"lab", "apply", "farm.json", "sample.json"},
	{"lab", "fit", "shakes.csv"},
	{"targets"}, {"targets", "none"},
	{"guide"}, {"guide", "none"},
	{"batch"}, {"batch", "nowhere", "--out", "x"},
	{"card", "--out", "card.gif"},
	{"calibrate"},
}

func inSpokenFolder(t *testing.T) {
	t.Helper()
	t.Setenv("LC_ALL", "C") // whoever runs the tests
	t.Chdir(t.TempDir())
	for name, text := range map[string]string{
		"sample.json": spokenDocument, "shakes.csv": spokenShakes, "bad.csv": "sieve,mass_g\ntop,soon\npan,3\n",
		"pairs.csv": "name,photo_pct,lab_pct,state\nnorth,48,50,fresh\nsouth,55,56,fresh\neast,61,64,fresh\nwest,66,65,fresh\nhill,72,74,fresh\nriver,79,78,fresh\n",
	} {
		if err := os.WriteFile(filepath.Join(".", name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// No sentence of the main commands is left in English when German is asked for, and a number has a comma.
func TestGermanHoldsNoEnglish(t *testing.T) {
	inSpokenFolder(t)
	for _, args := range mainCommands {
		if text := saidBy(t, args...); spoken.English(text) == "" {
			t.Errorf("%v: no English is seen in its English", args)
		}
		text := saidBy(t, append([]string{"--lang", "de"}, args...)...)
		if text == "" {
			t.Errorf("%v says nothing", args)
		}
		if m := spoken.English(text); m != "" {
			t.Errorf("%v: English %q in\n%s", args, m, text)
		}
		if m := spoken.DecimalPoint(text); m != "" {
			t.Errorf("%v: a decimal point in %q of\n%s", args, m, text)
		}
	}
}

// With --units us no result for people has a length, a mass or a volume in metric units alone. What is said of options and files
// stays metric, because they are, and so does the guide's science.
func TestUSUnitsEverywhere(t *testing.T) {
	inSpokenFolder(t)
	if text := saidBy(t, "sieve", "shakes.csv"); spoken.Metric(text) == "" {
		t.Errorf("no metric figure is seen in\n%s", text)
	}
	for _, lang := range []string{"en", "de"} {
		for _, args := range mainCommands {
			if args[0] == "targets" && len(args) > 1 || args[0] == "guide" && len(args) > 1 {
				continue
			}
			var out, said bytes.Buffer
			run(append([]string{"gristmark", "--lang", lang, "--units", "us"}, args...), strings.NewReader(""), &out, &said)
			if m := spoken.Metric(out.String()); m != "" {
				t.Errorf("%s %v: metric %q in\n%s", lang, args, m, out.String())
			}
		}
	}
}

// Documents are the same whatever the language and the units.
func TestDocumentsSpeakNoLanguage(t *testing.T) {
	inSpokenFolder(t)
	for _, args := range [][]string{
		{"measure", "--from", "sample.json", "--json"}, {"sieve", "shakes.csv", "--json"}, {"compare", "shakes.csv", "shakes.csv", "--json"},
		{"plan", "shakes.csv", "--json"}, {"cup", "--count", "5", "--json"}, {"lab", "fit", "pairs.csv", "--json"}, {"targets", "--json"},
	} {
		var plain, other bytes.Buffer
		run(append([]string{"gristmark"}, args...), strings.NewReader(""), &plain, &bytes.Buffer{})
		run(append([]string{"gristmark", "--lang", "de", "--units", "us"}, args...), strings.NewReader(""), &other, &bytes.Buffer{})
		if plain.Len() == 0 || !bytes.Equal(plain.Bytes(), other.Bytes()) {
			t.Errorf("%v: the document differs by language or units", args)
		}
	}
}

// Every wrong usage says what to do.
func TestWrongUsageHasAHint(t *testing.T) {
	inSpokenFolder(t)
	for _, args := range mainCommands {
		var said bytes.Buffer
		if status := run(append([]string{"gristmark"}, args...), strings.NewReader(""), &bytes.Buffer{}, &said); status == statusUsage && !strings.Contains(said.String(), "hint: ") {
			t.Errorf("%v: no hint in %q", args, said.String())
		}
	}
}
