package paper

import (
	"fmt"
	"io"
	"strings"

	"gristmark/internal/advice"
	"gristmark/internal/report/plots"
	"gristmark/internal/report/season"
	"gristmark/internal/words"
)

// Refusal is a refused photo.
type Refusal struct{ Sample, File, Problem string }

// Season is all samples of a folder.
type Season struct {
	Title    string
	Entries  []season.Entry // in order
	Refusals []Refusal
	Targets  advice.TargetSet
	Passing  *float64 // least share through 4.75 mm, %; nil for none
	Assumed  []string // a sentence each
	Version  string
	Words    *words.Words // language and units
}

// WriteSeason writes the season report on the paper: a4 or letter.
func WriteSeason(w io.Writer, size string, r Season) error {
	s, err := newSheet(size, r.Title, r.Words)
	if err != nil {
		return err
	}
	s.SetAutoPageBreak(true, marginMM+4)
	s.SetFooterFunc(func() {
		h := s.font("", 7, 90)
		s.SetXY(marginMM, s.bottom-h)
		s.CellFormat(s.width, h, s.fit(r.Title, s.width-40)+s.say.T(", page %d", s.PageNo()), "", 0, "R", false, 0, "")
	})
	s.AddPage()
	s.para("B", 18, 0, r.Title)
	photos := 0
	for _, e := range r.Entries {
		photos += e.Photos
	}
	s.para("", 10, 60, s.say.T("%s from %s; refused: %d. Estimates from outlines in photos, no laboratory results.", s.say.T("%d samples", len(r.Entries)), s.say.T("%d photos", photos), len(r.Refusals)))
	s.SetY(s.GetY() + 3)
	for name, series := range []plots.Series{season.Passing(s.say, r.Entries, r.Passing), season.Lengths(s.say, r.Entries)} {
		if err := s.chart(fmt.Sprint("run", name), 95, func() (plots.Chart, error) { return plots.Run(s.say, series) }); err != nil {
			return err
		}
	}
	s.drift(r)
	if err := s.settings(r); err != nil {
		return err
	}
	s.samples(r.Entries)
	s.refusals(r.Refusals)
	s.methods(r)
	return s.write(w)
}

// drift names the samples beyond the control limits.
func (s *sheet) drift(r Season) {
	for _, series := range []plots.Series{season.Passing(s.say, r.Entries, r.Passing), season.Lengths(s.say, r.Entries)} {
		var names []string
		for i, out := range series.Out() {
			if out {
				names = append(names, series.Names[i])
			}
		}
		if len(names) > 0 {
			s.para("", 10, 0, s.say.T("%s: beyond the control limits %s.", series.Title, strings.Join(names, ", ")))
		}
	}
}

func (s *sheet) heading(text string) {
	if s.GetY() > s.bottom-40 {
		s.AddPage()
	}
	s.SetY(s.GetY() + 4)
	s.para("B", 13, 0, text)
	s.SetY(s.GetY() + 1)
}

// column of a table: its head and its share of the width.
type column struct {
	head  string
	share float64
}

// row writes a line of a table, every cell on one line; it starts a page with the head again where it has no room.
func (s *sheet) row(columns []column, cells []string) {
	if s.GetY() > s.bottom-10 {
		s.AddPage()
		s.tableHead(columns)
	}
	h := s.font("", 9, 0)
	for i, c := range columns {
		w := c.share * s.width
		s.CellFormat(w, h+0.6, s.fit(cells[i], w-2*s.GetCellMargin()), "B", 0, "L", false, 0, "")
	}
	s.Ln(-1)
}

func (s *sheet) tableHead(columns []column) {
	h := s.font("B", 9, 0)
	for _, c := range columns {
		s.CellFormat(c.share*s.width, h+0.6, c.head, "B", 0, "L", false, 0, "")
	}
	s.Ln(-1)
}

func (s *sheet) samples(entries []season.Entry) {
	s.heading(s.say.T("Samples"))
	s.ruled()
	columns := []column{{s.say.T("Sample"), .18}, {s.say.T("Taken"), .17}, {s.say.T("Photos"), .09}, {s.say.T("Through 4.75 mm, %"), .21}, {s.say.T("Kernels"), .16}, {s.say.T("Length, %s", s.say.LengthUnit()), .19}}
	s.tableHead(columns)
	for _, e := range entries {
		cells := []string{e.Name, "", fmt.Sprint(e.Photos), s.say.T("refused"), "", ""}
		if len(e.Taken) >= 16 {
			cells[1] = strings.Replace(e.Taken[:16], "T", " ", 1)
		}
		if e.Refused > 0 {
			cells[2] = s.say.T("%d of %d", e.Photos-e.Refused, e.Photos)
		}
		if e.Sample != nil {
			cells[3], cells[4] = "", s.say.Verdict(e.Sample.Verdict.Kernels)
			if p := season.PassingOf(e.Sample); p != nil {
				cells[3] = s.say.Interval(*p)
			}
			if l := season.LengthOf(e.Sample); l != nil {
				cells[5] = s.say.LengthInterval(*l)
			}
		}
		s.row(columns, cells)
	}
}

func (s *sheet) refusals(list []Refusal) {
	if len(list) == 0 {
		return
	}
	s.heading(s.say.T("Refused photos and why"))
	for _, r := range list {
		s.para("", 9, 0, r.File+": "+s.say.Say(r.Problem))
		s.SetY(s.GetY() + 0.8)
	}
}

// measureNames name what a target line judges.
var measureNames = map[string]string{
	advice.PassingPct: words.K("kernel mass through 4.75 mm"), advice.LengthOverCut: words.K("mean length over length of cut"),
	advice.TopPct: words.K("top box"), advice.MiddlePct: words.K("middle box"), advice.LowerPct: words.K("lower box"), advice.PanPct: words.K("pan"),
	advice.TopMiddlePct: words.K("two upper boxes"), advice.KernelsPerCup: words.K("whole and half kernels in a cup"),
	advice.CutMM: words.K("length of cut"), advice.DryMatterPct: words.K("dry matter at harvest"),
}

// methods is the small print, on a page of its own: how the figures came about and where the targets are from.
func (s *sheet) methods(r Season) {
	s.AddPage()
	s.heading(s.say.T("Methods and sources"))
	small := func(text string) {
		s.para("", 7.5, 50, text)
		s.SetY(s.GetY() + 0.6)
	}
	small(s.say.T("Pieces are outlined in the photo and measured on the tray plane, whose scale is that of a printed ruler in the photo or a number given. Pieces cut by the edge of the field are not measured; the others are weighted for being in view as a whole (Miles and Lantuejoul)."))
	small(s.say.T("The share of kernel mass through a square mesh of 4.75 mm is estimated from each piece's width and a model of its thickness. Mass is not starch, and washed-off fines are not seen: the figure estimates the laboratory's processing score and is none."))
	small(s.say.T("The mean length is geometric and weighted by area. Intervals hold the value of the lot with 95 %: from one photo by resampling its pieces, from two or more by the spread between photos with Student's t."))
	small(s.say.T("Control limits are the mean and three standard deviations, these from the mean moving range over 1.128 (Shewhart; ISO 7870-2:2013, from memory); with fewer than eight samples they are provisional (common practice)."))
	for _, a := range r.Assumed {
		small(s.say.T("Assumed: %s.", s.say.Say(a)))
	}
	for _, l := range r.Targets.Lines {
		text := s.say.T("Target %s: %s. Source: %s.", s.say.T(measureNames[l.Measure]), s.say.Say(l.Range()), strings.TrimSuffix(s.say.Say(l.Source), "."))
		if l.Note != "" {
			text += " " + s.say.Say(l.Note) + "."
		}
		small(text)
	}
	small(s.say.T("Target set %s. gristmark %s", r.Targets.Name, r.Version))
}
