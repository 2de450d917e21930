package report

import (
	"bytes"
	"image"
	"strings"
	"testing"

	"gristmark/internal/advice"
	"gristmark/internal/result"
	"gristmark/internal/words"
	"gristmark/internal/words/spoken"
)

// whole is a document with the texts that the program itself writes: advice as judged, checks, problems and notes as found.
func whole() result.Document {
	doc := document()
	gap, dm, tloc := 3.0, 36.0, 19.0
	doc.Sample.Verdict, doc.Sample.Advice = advice.Judge(doc.Sample, advice.Context{RollGapMM: &gap, DMPct: &dm, TLOCMM: &tloc}, advice.DefaultSet())
	doc.Sample.Notes = []string{"one spread only: the intervals do not know how handfuls of this lot differ; photograph two more", "a.jpg: left out as a faint stain: 1; left out as the edge of tray or ruler: 25"}
	doc.Assumed = []string{"the chop is taken to be fresh; --state fermented tells otherwise", "an unbroken kernel is taken as 10.54 × 7.26 × 4.57 mm (Sezer et al., African Journal of Biotechnology); --kernel tells this crop's"}
	doc.Photos[0].Checks[1].Advice = "the pieces shine: turn the tray out of the sun or the flash off, and take it again"
	problem := "no ruler found: no card or mat in the photo; lay one flat beside the pieces, or name another ruler with --scale"
	doc.Photos[1].Problem = &problem
	return doc
}

func german(t *testing.T) *words.Words {
	t.Helper()
	w, err := words.For("de")
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func TestSummarySpeaks(t *testing.T) {
	in := func(w *words.Words) string {
		var b bytes.Buffer
		if err := Summary(&b, whole(), "mixed", advice.DefaultSet(), Paint{Words: w}); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	if len(whole().Sample.Advice) == 0 {
		t.Fatal("the sample asks for no change, so that advice is not seen")
	}
	if text := in(nil); spoken.English(text) == "" || spoken.Metric(text) == "" {
		t.Error("the judge sees no English or no metric figure in plain English")
	}
	if text := in(german(t)); spoken.English(text) != "" || spoken.DecimalPoint(text) != "" {
		t.Errorf("English %q, point %q in\n%s", spoken.English(text), spoken.DecimalPoint(text), text)
	}
	for _, w := range []*words.Words{(*words.Words)(nil).With(words.US), german(t).With(words.US)} {
		if text := in(w); spoken.Metric(text) != "" {
			t.Errorf("%s: metric %q in\n%s", w.Lang(), spoken.Metric(text), text)
		}
	}
	var b bytes.Buffer
	if err := Samples(&b, []SampleLine{{Name: "load 1", Photos: 3, Refused: 1, Sample: whole().Sample}, {Name: "load 2", Photos: 1, Refused: 1}}, Paint{Words: german(t)}); err != nil || spoken.English(b.String()) != "" {
		t.Errorf("%v, English %q in\n%s", err, spoken.English(b.String()), b.String())
	}
}

// The captions of the overlay speak, and the bar is a round number of inches.
func TestOverlaySpeaks(t *testing.T) {
	o := overlay()
	doc := whole()
	o.Sample, o.Words = doc.Sample, german(t).With(words.US)
	var texts []string
	for _, l := range o.bandText() {
		texts = append(texts, l.text)
	}
	for _, e := range o.legend() {
		texts = append(texts, e.text)
	}
	bar := o.scaleBar(1000)
	texts = append(texts, bar.text)
	text := strings.Join(texts, "\n")
	if spoken.English(text) != "" || spoken.Metric(text) != "" {
		t.Errorf("English %q, metric %q in\n%s", spoken.English(text), spoken.Metric(text), text)
	}
	// 1000 px of 0.05 mm are 1.97 in: half an inch is the largest round length within three tenths, 254 px.
	if bar.text != "0,5 in in der Bildmitte" || bar.px < 253.9 || bar.px > 254.1 {
		t.Errorf("bar %+v", bar)
	}
	if got := o.Draw().Bounds().Size(); got == (image.Point{}) {
		t.Error("nothing is drawn")
	}
}
