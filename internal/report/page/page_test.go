package page

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"gristmark/internal/report/plots"
	"gristmark/internal/report/season"
	"gristmark/internal/result"
)

func est(v float64) *result.Estimate {
	return &result.Estimate{Value: v, Low: v - 6, High: v + 7, Level: 0.95}
}

func sample(passing float64, verdict string) *result.Sample {
	sd := 1.9
	pieces := result.OnTarget
	return &result.Sample{
		Kernels: &result.Kernels{Whole: 12, Broken: 80, WholePct: est(13), Passing475Pct: est(passing)},
		Pieces: &result.Pieces{N: 140, GeometricMeanMM: est(10.2), GeometricSD: &sd, LengthClassesPct: &result.LengthClasses{Over19: 7, From8: 55, From4: 27, Under4: 11},
			BoxPct: &result.BoxShares{Top: *est(7), Middle: *est(56), Lower: *est(27), Pan: *est(10)}},
		Verdict: result.Verdict{Kernels: &verdict, Pieces: &pieces, Targets: "maize-silage/conventional"},
		Advice:  []result.Advice{{Do: "Close the roll gap by half a millimetre.", Why: "63 % passes, the mark is 70 %.", Check: "Photograph again after two loads.", Caution: "Stop the machine first."}},
		Notes:   []string{"one spread only"},
	}
}

// hostile is a name that would break a careless page.
const hostile = `a "b" <script>alert(1)</script> #1 50% ö`

func index() Index {
	target := 70.0
	i := Index{Title: "Season", Target: &target, Version: "test"}
	for n := range 12 {
		v, verdict := 60+float64(n*7%13), result.ShortOfTarget
		if v >= 70 {
			verdict = result.Undecided
		}
		i.Entries = append(i.Entries, season.Entry{Name: fmt.Sprintf("load%d", n+1), Taken: fmt.Sprintf("2026-09-12T%02d:00:00Z", 8+n), Photos: 3, Refused: n % 2, Sample: sample(v, verdict), Page: "samples/load.html"})
	}
	i.Entries = append(i.Entries, season.Entry{Name: hostile, Photos: 1, Refused: 1, Page: "samples/" + hostile + ".html"})
	return i
}

func page() Sample {
	problem := "no ruler found: put the card beside the pieces"
	list := []result.Particle{
		{ID: 1, Class: result.BrokenKernel, PBroken: 1, LengthMM: 5, WidthMM: 4, AreaMM2: 16}, {ID: 2, Class: result.WholeKernel, PWhole: 1, LengthMM: 9, WidthMM: 7, AreaMM2: 50},
		{ID: 3, Class: result.Stover, PStover: 1, LengthMM: 12, WidthMM: 3, AreaMM2: 36}, {ID: 4, Class: result.Stover, PStover: 1, LengthMM: 22, WidthMM: 3, AreaMM2: 66},
	}
	return Sample{
		Name: hostile, Index: "../index.html", JSON: "../../documents/x.json", Target: &plots.Range{Low: 8, High: 20}, Overlays: []string{"../../overlays/" + hostile + ".jpg"},
		Document: result.Document{Version: "test", Sample: sample(63, result.ShortOfTarget), Assumed: []string{"the chop is taken to be fresh"}, Photos: []result.Photo{
			{File: hostile + ".jpg", Status: result.Measured, Particles: list, Checks: []result.Check{{Name: "glare", Value: 0.4, Limit: 0.25, Advice: "turn the tray"}}},
			{File: "b.jpg", Status: result.Refused, Problem: &problem}}},
	}
}

// parsed reads a page and counts its elements.
func parsed(t *testing.T, data []byte) (count map[string]int, links []string) {
	t.Helper()
	root, err := html.Parse(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	count = map[string]int{}
	for n := range root.Descendants() {
		if n.Type != html.ElementNode {
			continue
		}
		count[n.Data]++
		for _, a := range n.Attr {
			if a.Key == "href" || a.Key == "src" {
				links = append(links, a.Val)
			}
		}
	}
	return count, links
}

func TestIndex(t *testing.T) {
	var b bytes.Buffer
	if err := WriteIndex(&b, index()); err != nil {
		t.Fatal(err)
	}
	count, links := parsed(t, b.Bytes())
	if count["tr"] != 14 || count["svg"] != 2 || count["script"] != 1 || count["td"] != 13*7 {
		t.Errorf("elements %v", count)
	}
	onlyLocal(t, links)
	keep(t, "index.html", b.Bytes())
}

func TestSample(t *testing.T) {
	var b bytes.Buffer
	if err := WriteSample(&b, page()); err != nil {
		t.Fatal(err)
	}
	count, links := parsed(t, b.Bytes())
	if count["svg"] != 2 || count["script"] != 0 || count["img"] != 1 || count["figure"] != 2 {
		t.Errorf("elements %v", count)
	}
	onlyLocal(t, links)
	for _, want := range []string{"short of target", "on target", "63 (57 to 70) %", "Close the roll gap", "Stop the machine", "no ruler found", "one spread only", "glare"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	keep(t, "sample.html", b.Bytes())
}

func TestEmptyPages(t *testing.T) {
	var b bytes.Buffer
	if err := WriteIndex(&b, Index{Title: "none"}); err != nil {
		t.Error(err)
	}
	if err := WriteSample(&b, Sample{Name: "none"}); err != nil || !strings.Contains(b.String(), "No photo of this sample could be measured") {
		t.Errorf("%v: %s", err, b.String())
	}
}

// onlyLocal demands links that need no network and that no letter of a name cuts short.
func onlyLocal(t *testing.T, links []string) {
	t.Helper()
	if len(links) == 0 {
		t.Error("no links")
	}
	for _, l := range links {
		if !strings.HasPrefix(l, "./") && !strings.HasPrefix(l, "../") || strings.ContainsAny(l, "#?<\" ") {
			t.Errorf("link %q", l)
		}
	}
}

// keep leaves a page to be looked at where GRISTMARK_PLOTS names a folder.
func keep(t *testing.T, name string, data []byte) {
	if dir := os.Getenv("GRISTMARK_PLOTS"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			t.Error(err)
		}
	}
}
