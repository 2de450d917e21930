package report

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"gristmark/internal/advice"
	"gristmark/internal/result"
)

func summaryOf(t *testing.T, doc result.Document, show string, paint Paint) string {
	t.Helper()
	var b bytes.Buffer
	if err := Summary(&b, doc, show, advice.DefaultSet(), paint); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// What matters comes first, and in this order.
func TestSummaryOrder(t *testing.T) {
	text := summaryOf(t, document(), "mixed", Paint{})
	at := -1
	for _, want := range []string{
		"Kernel processing: SHORT OF TARGET", "63 (57 to 69) % of the kernel mass would pass 4.75 mm; target at least 70 %", "not a laboratory result",
		"Length of chop: ON TARGET", "geometric mean length 10.2 (9.6 to 10.9) mm", "What to change", "1. Close the roll gap from 3 to 2.5 mm.",
		"Caution: Stop the machine first.", "12 whole kernels, 80 broken kernels, 140 pieces of stover, 1 unsure", "over 19 mm 7 %", "top 6.0 (3.0 to 10.0) %",
		"a.jpg: 5 particles, 0.0500 mm/px ± 0.4 % from the card, tilt 8°", "! glare 0.41 share of piece area, limit 0.25: turn the tray", "b.jpg: refused",
		"pooled with it", "one spread only", "the chop is taken to be fresh",
	} {
		i := strings.Index(strings.Join(strings.Fields(text), " "), strings.Join(strings.Fields(want), " "))
		if i <= at {
			t.Errorf("%q is not there, or not in its place, in\n%s", want, text)
		}
		at = max(at, i)
	}
}

func TestSummaryKeepsToColumns(t *testing.T) {
	for _, line := range strings.Split(summaryOf(t, document(), "mixed", Paint{}), "\n") {
		if utf8.RuneCountInString(line) > Columns {
			t.Errorf("%d characters: %s", utf8.RuneCountInString(line), line)
		}
		if strings.HasSuffix(line, " ") {
			t.Errorf("blanks at the end: %q", line)
		}
	}
}

func TestSummaryOfOneKind(t *testing.T) {
	if text := summaryOf(t, document(), "kernels", Paint{}); strings.Contains(text, "Length of chop") {
		t.Error("kernels alone, and it speaks of chop")
	}
	if text := summaryOf(t, document(), "pieces", Paint{}); strings.Contains(text, "Kernel processing") {
		t.Error("pieces alone, and it speaks of kernels")
	}
}

// An absent estimate is said to be absent; nothing is printed as nought.
func TestSummaryWithoutEstimates(t *testing.T) {
	doc := document()
	doc.Sample.Kernels = &result.Kernels{Whole: 1}
	doc.Sample.Pieces = &result.Pieces{N: 2}
	doc.Sample.Verdict = result.Verdict{}
	doc.Sample.Advice = nil
	text := summaryOf(t, doc, "mixed", Paint{})
	for _, want := range []string{"Kernel processing: NOT JUDGED", "too few kernel pieces", "too few pieces of stover"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	if strings.Contains(text, "0.0 (") {
		t.Error(text)
	}
}

// A folder that all photos share is named once, and sentences of caution are not repeated.
func TestSummarySaysThingsOnce(t *testing.T) {
	doc := document()
	for i := range doc.Photos {
		doc.Photos[i].File = "harvest/load 7/" + doc.Photos[i].File
	}
	doc.Sample.Notes = []string{"harvest/load 7/a.jpg: left out"}
	doc.Sample.Advice = append(doc.Sample.Advice, result.Advice{Do: "Sharpen.", Why: "It tears.", Check: "Photograph again after two loads.", Caution: "Stop the machine first. Mind the edge."})
	text := summaryOf(t, doc, "mixed", Paint{})
	for _, want := range []string{"Photos in harvest/load 7/\n", "  a.jpg: 5 particles", "  - a.jpg: left out", "Check: as above.", "Caution: as above. Mind the edge."} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	if n := strings.Count(text, "Stop the machine"); n != 1 {
		t.Errorf("the caution is there %d times", n)
	}
}

func TestSummaryPlacesTheShare(t *testing.T) {
	doc := document()
	doc.Sample.Verdict.Kernels, doc.Sample.Kernels.Passing475Pct = ptr(result.Undecided), est(69, 62, 75)
	if text := summaryOf(t, doc, "kernels", Paint{}); !strings.Contains(text, "which the interval straddles") {
		t.Error(text)
	}
	doc.Sample.Verdict.Kernels, doc.Sample.Kernels.Passing475Pct = ptr(result.ShortOfTarget), est(31, 24, 39)
	if text := summaryOf(t, doc, "kernels", Paint{}); !strings.Contains(text, "under 50 % is") {
		t.Error(text)
	}
}

// Colour adds nothing but colour.
func TestPaint(t *testing.T) {
	plain, painted := summaryOf(t, document(), "mixed", Paint{}), summaryOf(t, document(), "mixed", Paint{On: true})
	if plain == painted {
		t.Error("nothing was painted")
	}
	for _, code := range []string{"\x1b[1m", "\x1b[2m", "\x1b[1;31m", "\x1b[1;32m", "\x1b[1;33m", "\x1b[0m"} {
		painted = strings.ReplaceAll(painted, code, "")
	}
	if plain != painted {
		t.Errorf("painted text differs:\n%s", painted)
	}
}

func TestWrapKeepsUnits(t *testing.T) {
	for _, line := range wrap("target at least 70 %; and 4.75 mm, or 5 mm² (so) more", 12) {
		if strings.HasPrefix(line, "%") || strings.HasPrefix(line, "mm") {
			t.Errorf("a unit leads the line %q", line)
		}
	}
	if got := strings.Join(wrap("a bb ccc averyverylongword d", 6), "|"); got != "a bb|ccc|averyverylongword|d" {
		t.Error(got)
	}
}

func TestSamplesTable(t *testing.T) {
	var b bytes.Buffer
	doc := document()
	lines := []SampleLine{{"load 1", 3, 1, doc.Sample}, {"a/very/long/name/of/a/folder", 2, 2, nil}}
	if err := Samples(&b, lines, Paint{}); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"load 1             2 of 3  63 (57 to 69) %", "short of target", "refused", "…ame/of/a/folder"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no %q in\n%s", want, b.String())
		}
	}
	for _, line := range strings.Split(b.String(), "\n") {
		if utf8.RuneCountInString(line) > Columns {
			t.Errorf("too wide: %s", line)
		}
	}
}
