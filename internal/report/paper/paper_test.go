package paper

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gristmark/internal/advice"
	"gristmark/internal/report/season"
	"gristmark/internal/result"
	"gristmark/internal/words"
)

func est(v float64) *result.Estimate {
	return &result.Estimate{Value: v, Low: v - 6, High: v + 7, Level: 0.95}
}

func sample(passing, length float64, advices int) *result.Sample {
	kernels, pieces := result.ShortOfTarget, result.OnTarget
	s := &result.Sample{
		Kernels: &result.Kernels{Whole: 12, Broken: 80, Passing475Pct: est(passing)}, Pieces: &result.Pieces{N: 140, GeometricMeanMM: est(length)},
		Verdict: result.Verdict{Kernels: &kernels, Pieces: &pieces, Targets: "maize-silage/conventional"}, Notes: []string{"one spread only: the intervals do not know how handfuls of this lot differ"},
	}
	for i := range advices {
		s.Advice = append(s.Advice, result.Advice{Do: fmt.Sprintf("Change number %d: close the roll gap from 3 to 2.5 mm.", i+1), Why: "63 % passes and the mark is 70 %: kernels that stay whole pass through the animal.", Check: "Photograph again after two loads.", Caution: "Stop the machine and take the key out before reaching into the rolls."})
	}
	return s
}

func overlay(t *testing.T) []byte {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, 1200, 900))
	for i := range img.Pix {
		img.Pix[i] = uint8(40 + i%5*30)
	}
	img.Set(3, 3, color.White)
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func operator(t *testing.T, advices int, longer string) Operator {
	problem := "no ruler found: put the card beside the pieces"
	s := sample(63, 10.2, advices)
	for i := range s.Advice {
		s.Advice[i].Why += longer
	}
	taken := "2026-09-12T08:00:00+02:00"
	return Operator{Name: "Long Acre/load 7 ö 🌽", Overlay: overlay(t), Shows: "a.jpg", Document: result.Document{Sample: s, Version: "test",
		Photos: []result.Photo{{File: "a.jpg", Status: result.Measured, TakenAt: &taken}, {File: "b.jpg", Status: result.Refused, Problem: &problem}}}}
}

func pages(data []byte) int { return len(regexp.MustCompile(`/Type /Page\n`).FindAll(data, -1)) }

// Whatever there is to say, it is one page and ends above the foot.
func TestOperatorIsOnePage(t *testing.T) {
	none := Operator{Name: "none", Document: result.Document{}}
	for name, o := range map[string]Operator{
		"plain": operator(t, 2, ""), "many": operator(t, 9, strings.Repeat(" It has been so since morning.", 6)), "bare": operator(t, 0, ""), "none": none,
	} {
		for _, size := range Sizes {
			var b, again bytes.Buffer
			if err := WriteOperator(&b, size, o); err != nil {
				t.Fatal(err)
			}
			if err := WriteOperator(&again, size, o); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
				t.Errorf("%s: written again it differs, %v", name, err)
			}
			if n := pages(b.Bytes()); n != 1 {
				t.Errorf("%s, %s: %d pages", name, size, n)
			}
			s, _ := newSheet(size, "", nil)
			s.AddPage()
			if end := s.operator(o); end > s.bottom-3 || s.Err() {
				t.Errorf("%s, %s: it ends at %.0f mm of %.0f, %v", name, size, end, s.bottom, s.Error())
			}
			keep(t, "operator-"+name+"-"+size+".pdf", b.Bytes())
		}
	}
}

func TestAtMostThreeChanges(t *testing.T) {
	var all string
	for _, p := range operator(t, 9, "").words() {
		all += p.text + "\n"
	}
	if !strings.Contains(all, "3. Change number 3") || strings.Contains(all, "Change number 4") || strings.Count(all, "Caution:") != 3 {
		t.Errorf("the words are\n%s", all)
	}
}

func TestSeason(t *testing.T) {
	target := 70.0
	r := Season{Title: "Season of the long acre", Targets: advice.DefaultSet(), Passing: &target, Version: "test", Assumed: []string{"the chop is taken to be fresh"}}
	for n := range 60 {
		v := 60 + float64(n*7%13)
		if n == 40 {
			v = 30
		}
		r.Entries = append(r.Entries, season.Entry{Name: fmt.Sprintf("load%d", n+1), Taken: fmt.Sprintf("2026-09-%02dT%02d:00:00Z", 10+n/20, n%20), Photos: 3, Refused: n % 2, Sample: sample(v, 9+float64(n%5), 1)})
	}
	for i := range r.Entries {
		gap := []float64{1.5, 2, 3}[i%3]
		r.Entries[i].Settings.RollGapMM, r.Entries[i].Settings.Field = &gap, fmt.Sprintf("Field %d", i%5)
	}
	r.Entries = append(r.Entries, season.Entry{Name: "nothing", Photos: 1, Refused: 1})
	for n := range 30 {
		r.Refusals = append(r.Refusals, Refusal{"load", fmt.Sprintf("load%d/b.jpg", 2*n), "no ruler found: put the card beside the pieces, flat on the tray, and keep all of it in the picture"})
	}
	for _, size := range Sizes {
		var b, again bytes.Buffer
		if err := WriteSeason(&b, size, r); err != nil {
			t.Fatal(err)
		}
		if err := WriteSeason(&again, size, r); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
			t.Errorf("written again it differs, %v", err)
		}
		if n := pages(b.Bytes()); n < 3 || n > 10 {
			t.Errorf("%s: %d pages", size, n)
		}
		keep(t, "season-"+size+".pdf", b.Bytes())
	}
	german, err := words.For("de")
	if err != nil {
		t.Fatal(err)
	}
	r.Words = german.With(words.US)
	var b bytes.Buffer
	if err := WriteSeason(&b, "letter", r); err != nil {
		t.Fatal(err)
	}
	keep(t, "season-de-us.pdf", b.Bytes())
	if err := WriteSeason(&bytes.Buffer{}, "a5", r); err == nil {
		t.Error("a5 was taken")
	}
	if err := WriteSeason(&bytes.Buffer{}, "a4", Season{Title: "empty"}); err != nil {
		t.Error(err)
	}
}

// keep leaves a document to be looked at where GRISTMARK_PLOTS names a folder.
func keep(t *testing.T, name string, data []byte) {
	if dir := os.Getenv("GRISTMARK_PLOTS"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			t.Error(err)
		}
	}
}
