package runchart

import "fmt"

// PlotW and PlotH are the size of the plot itself.
func (p picture) PlotW() float64 { return p.Right - p.Left }

// PlotH is its height.
func (p picture) PlotH() float64 { return p.Bottom - p.Top }

// Baseline is where a number beside a line of the grid stands.
func (l line) Baseline() float64 { return l.Y + 4 }

// Foot is where the line of a change starts, under its name; Beside is where the name stands.
func (l line) Foot() float64 { return l.Y + 4 }

// Beside is off the line, to the side that the name reads to.
func (l line) Beside() float64 {
	if l.Anchor == "end" {
		return l.X - 4
	}
	return l.X - 2
}

// Triangle marks a value beyond a limit, Diamond one in a drift: shapes tell them apart in grey print.
func (m mark) Triangle() string {
	return fmt.Sprintf("M%s %sl8 14h-16z", coordinate(m.X), coordinate(m.Y-9))
}

// Diamond marks a value in a drift.
func (m mark) Diamond() string {
	return fmt.Sprintf("M%s %sl7 7l-7 7l-7-7z", coordinate(m.X), coordinate(m.Y-7))
}
