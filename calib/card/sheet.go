package card

import "gristmark/internal/result"

// Marker is one square fiducial of DICT_5X5_100.
type Marker struct {
	ID     int     // 0..99, unique across all sheets
	X, Y   float64 // top left corner of the black border, mm from the sheet's top left corner
	SizeMM float64 // outer width of the black border, mm
}

// Corners gives the marker's outer corners clockwise from the top left, mm.
func (m Marker) Corners() [4]result.XY {
	r, b := m.X+m.SizeMM, m.Y+m.SizeMM
	return [4]result.XY{{m.X, m.Y}, {r, m.Y}, {r, b}, {m.X, b}}
}

// CellMM is the width of one cell of the marker, mm. The quiet zone round a marker is at least one
// cell of white.
func (m Marker) CellMM() float64 { return m.SizeMM / (markerCells + 2) }

// Sheet is one printed ruler.
type Sheet struct {
	Name              string // "card", "mat-a4" or "mat-a3"
	WidthMM, HeightMM float64
	Markers           []Marker

	// The counting field of a mat, mm: its left, top, right and bottom. All zero for the card.
	FieldMM [4]float64
	// Pitch of the lines drawn in the field, mm; 0 without a field.
	PitchMM float64

	details func(Sheet) []Shape // what is drawn besides paper and markers
}

// HasField reports whether the sheet has a field to lay pieces on.
func (s Sheet) HasField() bool { return s.FieldMM[2] > s.FieldMM[0] }

// Outline gives the sheet's corners clockwise from the top left, mm.
func (s Sheet) Outline() [4]result.XY {
	return [4]result.XY{{0, 0}, {s.WidthMM, 0}, {s.WidthMM, s.HeightMM}, {0, s.HeightMM}}
}

// Field gives the corners of the counting field clockwise from the top left, mm; nil without one.
func (s Sheet) Field() []result.XY {
	if !s.HasField() {
		return nil
	}
	f := s.FieldMM
	return []result.XY{{f[0], f[1]}, {f[2], f[1]}, {f[2], f[3]}, {f[0], f[3]}}
}

// Sheets lists all sheets, the card first.
func Sheets() []Sheet { return []Sheet{Card(), MatA4(), MatA3()} }

// Named finds a sheet by its name.
func Named(name string) (Sheet, bool) {
	for _, s := range Sheets() {
		if s.Name == name {
			return s, true
		}
	}
	return Sheet{}, false
}

// ByID finds the sheet and the marker that carry an id.
func ByID(id int) (Sheet, Marker, bool) {
	for _, s := range Sheets() {
		for _, m := range s.Markers {
			if m.ID == id {
				return s, m, true
			}
		}
	}
	return Sheet{}, Marker{}, false
}
