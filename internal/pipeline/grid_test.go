package pipeline

import (
	"math"
	"testing"

	"gristmark/calib"
	"gristmark/calib/card"
	"gristmark/internal/result"
)

// flat is a plane square to the camera: mm = px / 10.
type flat struct{}

func (flat) ToMM(px result.XY) result.XY { return result.XY{px[0] / 10, px[1] / 10} }
func (flat) ToPx(mm result.XY) result.XY { return result.XY{mm[0] * 10, mm[1] * 10} }

func TestPlaneGrid(t *testing.T) {
	lines, pitch := planeGrid(flat{}, result.XY{3, 1}, 4000, 3000) // the middle 360 × 270 mm of 400 × 300
	if pitch != 20 {
		t.Fatalf("pitch %v mm, want 20", pitch)
	}
	if len(lines) != 18+14 { // x = 23 … 363, y = 21 … 281
		t.Errorf("%d lines", len(lines))
	}
	for _, line := range lines {
		first, last := line[0], line[len(line)-1]
		switch {
		case first[0] == last[0] && math.Abs(math.Mod(first[0]/10-3, 20)) < 1e-9:
		case first[1] == last[1] && math.Abs(math.Mod(first[1]/10-1, 20)) < 1e-9:
		default:
			t.Errorf("line from %v to %v", first, last)
		}
	}
}

// Lines come of a mat only, and only where the plane is in the mat's frame.
func TestMatLines(t *testing.T) {
	mark := func(id int, shiftPx float64) []calib.Mark {
		_, m, _ := card.ByID(id)
		var out []result.XY
		for _, c := range m.Corners() {
			out = append(out, result.XY{c[0]*10 + shiftPx, c[1] * 10})
		}
		return []calib.Mark{{ID: id, Outline: out, Used: true}}
	}
	mat := card.MatA4()
	id := mat.Markers[3].ID
	lines := matLines(flat{}, mark(id, 0))
	f := mat.FieldMM
	want := int((f[2]-f[0])/mat.PitchMM) - 1 + int((f[3]-f[1])/mat.PitchMM) - 1
	if len(lines) != 24*want {
		t.Errorf("%d pieces of line, want 24 for each of %d", len(lines), want)
	}
	if l := matLines(flat{}, mark(id, 300)); l != nil {
		t.Error("lines of a mat that lies elsewhere")
	}
	if l := matLines(flat{}, mark(card.Card().Markers[0].ID, 0)); l != nil {
		t.Error("lines of a card")
	}
}

// The ring around a field is the photo without the field, by the rule of even and odd.
func TestAround(t *testing.T) {
	ring := around([]result.XY{{100, 100}, {300, 100}, {300, 200}, {100, 200}}, 400, 300)
	for _, c := range []struct {
		at   result.XY
		want bool
	}{{result.XY{50, 61}, true}, {result.XY{350, 151}, true}, {result.XY{200, 251}, true}, {result.XY{200, 151}, false}, {result.XY{101, 102}, false}} {
		odd := false
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			if (a[1] <= c.at[1]) != (b[1] <= c.at[1]) && a[0]+(c.at[1]-a[1])*(b[0]-a[0])/(b[1]-a[1]) > c.at[0] {
				odd = !odd
			}
		}
		if odd != c.want {
			t.Errorf("%v: in the ring %v, want %v", c.at, odd, c.want)
		}
	}
}

// Marks at the middles of the sides of 3 × 2 cells of 5 mm.
func TestGridLines(t *testing.T) {
	at := func(x, y float64, used bool) calib.Mark {
		return calib.Mark{ID: -1, Outline: []result.XY{{x * 10, y * 10}}, Used: used}
	}
	marks := []calib.Mark{at(7.5, 10, true), at(10, 12.5, true), at(17.5, 15, true), at(20, 17.5, true), at(60, 60, false)}
	lines := gridLines(flat{}, marks, 5)
	ends := map[result.XY]bool{}
	for _, l := range lines {
		ends[l[0]], ends[l[1]] = true, true
	}
	if len(lines) != 24*(4+3) {
		t.Errorf("%d pieces of line, want 24 for each of 4 + 3", len(lines))
	}
	for _, corner := range []result.XY{{50, 100}, {200, 100}, {200, 200}, {50, 200}} {
		if !ends[corner] {
			t.Errorf("no line ends at the corner %v", corner)
		}
	}
	if gridLines(flat{}, marks[4:], 5) != nil {
		t.Error("lines of marks that were thrown out")
	}
}
