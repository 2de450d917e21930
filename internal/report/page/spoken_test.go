package page

import (
	"bytes"
	"regexp"
	"strings"
	"testing"

	"gristmark/internal/advice"
	"gristmark/internal/words"
	"gristmark/internal/words/spoken"
)

// visible is what a reader sees of a page: no style, no script, no tags but the texts of alt and of the charts.
func visible(page []byte) string {
	text := regexp.MustCompile(`(?s)<style>.*?</style>|<script>.*?</script>|<a [^>]*>|</?(div|span|td|tr|th|p|h1|h2|li|ul|ol|table|thead|tbody|option|select|label|button|input|main|nav|figure|figcaption|strong|br|svg|g|path|rect|line|polyline|polygon|circle|html|head|body|meta|a|img|title|text|!doctype)[^>]*>`).ReplaceAll(page, []byte(" "))
	return strings.NewReplacer("&lt;", "<", "&#34;", "\"", "&amp;", "&").Replace(string(text))
}

// known is the sample with the texts that the program itself writes.
func known() Sample {
	s := page()
	gap, tloc := 3.0, 19.0
	doc := &s.Document
	doc.Sample.Verdict, doc.Sample.Advice = advice.Judge(doc.Sample, advice.Context{RollGapMM: &gap, TLOCMM: &tloc}, advice.DefaultSet())
	doc.Sample.Notes = []string{"one spread only: the intervals do not know how handfuls of this lot differ; photograph two more"}
	doc.Assumed = []string{"the chop is taken to be fresh; --state fermented tells otherwise"}
	problem := "no tray is to be seen: use a matte tray of one colour and fill the picture with it"
	for i := range doc.Photos {
		if doc.Photos[i].Problem != nil {
			doc.Photos[i].Problem = &problem
		}
		for k := range doc.Photos[i].Checks {
			doc.Photos[i].Checks[k].Advice = "the pieces shine: turn the tray out of the sun or the flash off, and take it again"
		}
	}
	s.Name = "Fuhre 1"
	return s
}

func TestPagesSpeak(t *testing.T) {
	de, err := words.For("de")
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range []*words.Words{nil, de, (*words.Words)(nil).With(words.US), de.With(words.US)} {
		var one, all bytes.Buffer
		s, i := known(), index()
		s.Words, i.Words = w, w
		i.Entries = i.Entries[:len(i.Entries)-1] // the hostile name is English
		if err := WriteSample(&one, s); err != nil {
			t.Fatal(err)
		}
		if err := WriteIndex(&all, i); err != nil {
			t.Fatal(err)
		}
		for _, page := range []bytes.Buffer{one, all} {
			text := visible(page.Bytes())
			if !strings.Contains(page.String(), `<html lang="`+w.Lang()+`">`) {
				t.Error("the page does not tell its language")
			}
			if english := spoken.English(text); (english == "") != (w.Lang() == "de") {
				t.Errorf("%s: English %q in\n%s", w.Lang(), english, spoken.Unbroken(text))
			}
			if metric := spoken.Metric(text); (metric == "") != (w.Units() == words.US) {
				t.Errorf("%s, %s: metric %q in\n%s", w.Lang(), w.Units(), metric, spoken.Unbroken(text))
			}
		}
	}
}
