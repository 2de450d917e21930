package paper

import (
	"fmt"

	"gristmark/internal/report/plots"
	"gristmark/internal/report/season"
)

// settings holds the samples of different fields, hybrids and settings against each other: a table, then the charts. Nothing where
// the loads' settings were not told or do not differ.
func (s *sheet) settings(r Season) error {
	figures := season.Figures(s.say, r.Passing)
	columns := []column{{s.say.T("Setting"), .24}, {s.say.T("Value"), .26}, {s.say.T("Samples"), .12}, {s.say.T("Through 4.75 mm, %"), .19}, {s.say.T("Length, %s", s.say.LengthUnit()), .19}}
	var rows [][]string
	for _, setting := range season.Settings(s.say) {
		passing, lengths := setting.By(r.Entries, figures[0], s.say), setting.By(r.Entries, figures[1], s.say)
		if !season.Comparable(passing) && !season.Comparable(lengths) {
			continue
		}
		rows = append(rows, s.settingRows(setting.Name, passing, lengths)...)
	}
	if len(rows) == 0 {
		return nil
	}
	s.heading(s.say.T("Comparison of settings"))
	s.para("", 9, 60, s.say.T("Medians of the samples that tell the setting. Groups differ in more than the setting: field, weather and time go with it, and the settings were not drawn by lot. Whether two samples differ, gristmark compare says."))
	s.SetY(s.GetY() + 1)
	s.ruled()
	s.tableHead(columns)
	for _, row := range rows {
		s.row(columns, row)
	}
	s.SetY(s.GetY() + 3)
	for i, g := range season.Boxes(s.say, r.Entries, r.Passing) {
		const height = 80
		if s.GetY() > s.bottom-height-5 {
			s.AddPage()
		}
		if err := s.chart(fmt.Sprint("box", i), height, func() (plots.Chart, error) { return plots.Box(s.say, g) }); err != nil {
			return err
		}
	}
	return nil
}

// settingRows is a row for each group of one setting.
func (s *sheet) settingRows(name string, passing, lengths []plots.Group) [][]string {
	var rows [][]string
	at := map[string]int{}
	most := map[string]int{} // samples, some of which tell only one of the figures
	row := func(g plots.Group) []string {
		if _, ok := at[g.Name]; !ok {
			at[g.Name] = len(rows)
			rows = append(rows, []string{name, g.Name, "", "", ""})
		}
		most[g.Name] = max(most[g.Name], len(g.Values))
		cells := rows[at[g.Name]]
		cells[2] = fmt.Sprint(most[g.Name])
		return cells
	}
	for _, g := range passing {
		row(g)[3] = s.say.Number(season.Median(g.Values), 0)
	}
	for _, g := range lengths {
		row(g)[4] = s.say.Figures(season.Median(g.Values))
	}
	return rows
}

// ruled sets the pen of the lines in tables.
func (s *sheet) ruled() {
	s.SetDrawColor(190, 190, 190)
	s.SetLineWidth(0.2)
}
