package paper

import (
	"fmt"
	"io"
	"strings"

	"gristmark/internal/report"
	"gristmark/internal/report/season"
	"gristmark/internal/result"
	"gristmark/internal/words"
)

// mostAdvice is how many changes an operator gets at once.
const mostAdvice = 3

// Operator is a sample for the operator, on one page.
type Operator struct {
	Name     string
	Document result.Document
	Overlay  []byte       // JPEG of one photo with its pieces outlined; nil for none
	Shows    string       // file that the overlay is of
	Words    *words.Words // language and units
}

// WriteOperator writes the page on the paper: a4 or letter.
func WriteOperator(w io.Writer, size string, o Operator) error {
	s, err := newSheet(size, o.Name, o.Words)
	if err != nil {
		return err
	}
	s.AddPage()
	s.operator(o)
	return s.write(w)
}

// operator lays the page out and returns the y that it reaches; the overlay gets the height that the words leave, and
// where these are many they are set smaller.
func (s *sheet) operator(o Operator) (end float64) {
	s.head(o)
	if o.Document.Sample != nil {
		s.figures(o.Document.Sample)
	}
	words := o.words()
	const leastPicture = 55
	points := 10.5
	room := func() float64 { return s.bottom - 8 - s.GetY() - s.wordsHeight(words, points) }
	for points > 6 && room() < leastPicture {
		points -= 0.5
	}
	y := s.GetY()
	if h := room() - 8; o.Overlay != nil && h > 20 {
		y += s.picture("overlay", "jpg", o.Overlay, marginMM, y, s.width, min(h, 125)) + 1
		s.SetXY(marginMM, y)
		s.para("", 7.5, 90, s.say.T("Every piece that was found: %s", o.Shows))
	}
	s.SetY(s.GetY() + 2)
	for _, p := range words {
		s.para(p.style, points+p.larger, p.grey, p.text)
		s.SetY(s.GetY() + p.after)
	}
	end = s.GetY()
	s.foot(o.Document)
	return end
}

func (s *sheet) head(o Operator) {
	s.SetXY(marginMM, marginMM)
	h := s.font("B", 18, 0)
	s.CellFormat(s.width, h, s.fit(o.Name, s.width-4), "", 1, "L", false, 0, "")
	e := season.EntryOf(o.Name, o.Document)
	text := s.say.T("%d photos", e.Photos)
	if e.Refused > 0 {
		text += s.say.T(", of which %d refused", e.Refused)
	}
	if e.Taken != "" {
		text += s.say.T(", taken %s", strings.Replace(e.Taken, "T", " ", 1))
	}
	s.para("", 9, 80, text)
	if o.Document.Settings != nil {
		s.para("", 9, 80, report.SettingsText(*o.Document.Settings, s.say))
	}
	s.SetY(s.GetY() + 2)
}

// figures draws the two verdicts with their numbers, side by side.
func (s *sheet) figures(sample *result.Sample) {
	const height = 31
	width, y := (s.width-5)/2, s.GetY()
	for i, box := range []struct {
		head, unit, what string
		verdict          *string
		e                *result.Estimate
		print            func(result.Estimate) string
	}{
		{s.say.T("Kernels: %s", s.say.Verdict(sample.Verdict.Kernels)), " %", s.say.T("of the kernel mass would pass the 4.75 mm mesh, estimated from outlines"), sample.Verdict.Kernels, season.PassingOf(sample), s.say.Interval},
		{s.say.T("Length: %s", s.say.Verdict(sample.Verdict.Pieces)), " " + s.say.LengthUnit(), s.say.T("mean length of the stover"), sample.Verdict.Pieces, season.LengthOf(sample), s.say.LengthInterval},
	} {
		x := marginMM + float64(i)*(width+5)
		s.shade(box.verdict)
		s.Rect(x, y, width, height, "FD")
		s.SetXY(x+2, y+2)
		h := s.font("B", 12, 0)
		s.CellFormat(width-4, h, box.head, "", 2, "L", false, 0, "")
		h = s.font("B", 20, 0)
		number := s.say.T("no estimate")
		if box.e != nil {
			number = box.print(*box.e) + box.unit
		}
		s.CellFormat(width-4, h, number, "", 2, "L", false, 0, "")
		h = s.font("", 8.5, 60)
		s.SetX(x + 2)
		s.MultiCell(width-4, h, box.what, "", "L", false)
	}
	s.SetXY(marginMM, y+height+4)
}

// shade fills by the verdict, pale enough for grey print, and frames what is off target more heavily.
func (s *sheet) shade(v *string) {
	s.SetDrawColor(120, 120, 120)
	s.SetLineWidth(0.3)
	switch {
	case v == nil:
		s.SetFillColor(255, 255, 255)
	case *v == result.OnTarget:
		s.SetFillColor(227, 242, 234)
	case *v == result.Undecided:
		s.SetFillColor(255, 248, 214)
	default:
		s.SetFillColor(251, 233, 220)
		s.SetDrawColor(138, 60, 0)
		s.SetLineWidth(0.9)
	}
}

// paragraph is text in a style; larger is added to the size of the page's text, after is the space below, mm.
type paragraph struct {
	style  string
	grey   int
	larger float64
	after  float64
	text   string
}

// words are the changes worth making with their cautions, what was refused, and the notes.
func (o Operator) words() []paragraph {
	say := o.Words
	var out []paragraph
	add := func(style string, grey int, larger, after float64, text string) {
		if text != "" {
			out = append(out, paragraph{style, grey, larger, after, text})
		}
	}
	if sample := o.Document.Sample; sample != nil {
		list := sample.Advice[:min(mostAdvice, len(sample.Advice))]
		if len(list) > 0 {
			add("B", 0, 2, 1, say.T("What to change"))
		}
		for i, a := range list {
			add("B", 0, 0, 0, fmt.Sprintf("%d. %s", i+1, say.Say(a.Do)))
			add("", 40, 0, 0, strings.TrimSpace(say.Say(a.Why)+" "+say.Say(a.Check)))
			caution := ""
			if a.Caution != "" {
				caution = say.T("Caution: %s", say.Say(a.Caution))
			}
			add("B", 40, -0.5, 0, caution)
			out[len(out)-1].after = 1.5
		}
		add("", 80, -1.5, 0.5, say.Say(strings.Join(sample.Notes, "; ")))
	} else {
		add("B", 0, 2, 1, say.T("No photo of this sample could be measured"))
	}
	for i, p := range refused(o.Document) {
		if i == 3 {
			add("", 60, -1, 0, say.T("and more, see refused.csv"))
			break
		}
		add("", 60, -1, 0.5, say.T("Refused: %s: %s", p.File, say.Say(*p.Problem)))
	}
	return out
}

func refused(doc result.Document) []result.Photo {
	var out []result.Photo
	for _, p := range doc.Photos {
		if p.Status == result.Refused && p.Problem != nil {
			out = append(out, p)
		}
	}
	return out
}

func (s *sheet) wordsHeight(words []paragraph, points float64) float64 {
	sum := 2.0
	for _, p := range words {
		sum += s.height(p.style, points+p.larger, s.width, p.text) + p.after
	}
	return sum
}

func (s *sheet) foot(doc result.Document) {
	text := s.say.T("An estimate from outlines in photos, no laboratory result; in brackets the 95 % interval.")
	if doc.Sample != nil && doc.Sample.Verdict.Targets != "" {
		text += " " + s.say.T("Targets: %s.", doc.Sample.Verdict.Targets)
	}
	if doc.Version != "" {
		text += " gristmark " + doc.Version
	}
	h := s.font("", 7, 90)
	s.SetXY(marginMM, s.bottom-h)
	s.CellFormat(s.width, h, s.fit(text, s.width), "", 0, "L", false, 0, "")
}
