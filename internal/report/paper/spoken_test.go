package paper

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"gristmark/internal/advice"
	"gristmark/internal/report/season"
	"gristmark/internal/words"
	"gristmark/internal/words/spoken"
)

// textOf is what an independent reader finds on the paper.
func textOf(t *testing.T, pdf []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "x.pdf")
	if err := os.WriteFile(path, pdf, 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("pdftotext", "-layout", path, "-").CombinedOutput()
	if err != nil {
		t.Fatalf("pdftotext: %v: %s", err, out)
	}
	return string(out)
}

// Both papers speak: nothing English is left where German is asked for, and nothing metric where inches are.
func TestPapersSpeak(t *testing.T) {
	de, err := words.For("de")
	if err != nil {
		t.Fatal(err)
	}
	gap, tloc, target := 3.0, 19.0, 70.0
	problem := "no tray is to be seen: use a matte tray of one colour and fill the picture with it"
	o := operator(t, 0, "")
	s := o.Document.Sample
	s.Verdict, s.Advice = advice.Judge(s, advice.Context{RollGapMM: &gap, TLOCMM: &tloc}, advice.DefaultSet())
	s.Notes = []string{"one spread only: the intervals do not know how handfuls of this lot differ; photograph two more"}
	o.Document.Photos[1].Problem, o.Name = &problem, "Fuhre 7"
	r := Season{Title: "Saison", Targets: advice.DefaultSet(), Passing: &target, Assumed: []string{"the chop is taken to be fresh; --state fermented tells otherwise"},
		Refusals: []Refusal{{"a", "b.jpg", problem}}}
	for range 6 {
		e := season.Entry{Name: "Fuhre", Photos: 2, Sample: s}
		e.Settings.RollGapMM, e.Settings.Field, e.Settings.Process = &gap, "Acker", "shredding"
		r.Entries = append(r.Entries, e)
	}
	other := 1.5
	r.Entries[0].Settings.RollGapMM, r.Entries[1].Settings.RollGapMM = &other, &other
	for _, w := range []*words.Words{nil, de, (*words.Words)(nil).With(words.US), de.With(words.US)} {
		var sheet, book bytes.Buffer
		o.Words, r.Words = w, w
		if err := WriteOperator(&sheet, "a4", o); err != nil {
			t.Fatal(err)
		}
		if err := WriteSeason(&book, "letter", r); err != nil {
			t.Fatal(err)
		}
		if n := pages(sheet.Bytes()); n != 1 {
			t.Errorf("%s: the operator gets %d pages", w.Lang(), n)
		}
		for _, pdf := range [][]byte{sheet.Bytes(), book.Bytes()} {
			text := textOf(t, pdf)
			if english := spoken.English(text); (english == "") != (w.Lang() == "de") {
				t.Errorf("%s: English %q in\n%s", w.Lang(), english, text)
			}
			if metric := spoken.Metric(text); (metric == "") != (w.Units() == words.US) {
				t.Errorf("%s, %s: metric %q in\n%s", w.Lang(), w.Units(), metric, text)
			}
		}
	}
}
