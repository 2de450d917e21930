package card

import (
	"image/color"
	"strconv"
)

// The mat's field: a mid-dark blue, far from yellow, white, tan and green in hue or lightness, with
// lines that are lighter by little enough not to look like straw.
var (
	matBlue = color.NRGBA{38, 72, 122, 255}
	matLine = color.NRGBA{92, 126, 172, 255}
)

const (
	matPitchMM  = 10
	matLineMM   = 0.3
	matMarkerMM = 14
	matMarginMM = 6 // paper outside the markers: printers leave some 4 mm blank
)

// MatA4 is a tray mat of 297 x 210 mm: a blue field of 240 x 150 mm with lines each 10 mm, in a
// white rim with markers.
func MatA4() Sheet { return mat("mat-a4", 297, 210, 240, 150, 10, 11, 5) }

// MatA3 is a tray mat of 420 x 297 mm with a field of 360 x 240 mm.
func MatA3() Sheet { return mat("mat-a3", 420, 297, 360, 240, 50, 14, 8) }

// mat lays across markers on the upper and on the lower rim and beside more on each side between them.
func mat(name string, w, h, fieldW, fieldH float64, firstID, across, beside int) Sheet {
	x0, y0 := (w-fieldW)/2, (h-fieldH)/2
	s := Sheet{
		Name: name, WidthMM: w, HeightMM: h, details: matDetails, PitchMM: matPitchMM,
		FieldMM: [4]float64{x0, y0, x0 + fieldW, y0 + fieldH},
	}
	id := firstID
	add := func(x, y float64) {
		s.Markers = append(s.Markers, Marker{id, x, y, matMarkerMM})
		id++
	}
	lastX, lastY := w-matMarginMM-matMarkerMM, h-matMarginMM-matMarkerMM
	for i := range across {
		x := matMarginMM + (lastX-matMarginMM)*float64(i)/float64(across-1)
		add(x, matMarginMM)
		add(x, lastY)
	}
	for i := range beside {
		y := matMarginMM + (lastY-matMarginMM)*float64(i+1)/float64(beside+1)
		add(matMarginMM, y)
		add(lastX, y)
	}
	return s
}

func matDetails(s Sheet) []Shape {
	f := s.FieldMM
	w, h := f[2]-f[0], f[3]-f[1]
	out := []Shape{rect(f[0], f[1], w, h, matBlue)}
	for i := 1; i < int(w/s.PitchMM+0.5); i++ {
		out = append(out, rect(f[0]+float64(i)*s.PitchMM-matLineMM/2, f[1], matLineMM, h, matLine))
	}
	for i := 1; i < int(h/s.PitchMM+0.5); i++ {
		out = append(out, rect(f[0], f[1]+float64(i)*s.PitchMM-matLineMM/2, w, matLineMM, matLine))
	}
	for mm := 0; mm <= int(w+0.5); mm += 50 {
		out = append(out, text(regular(), strconv.Itoa(mm), f[0]+float64(mm), f[1]-1, 2.8, centre, black))
	}
	words := "gristmark tray mat: print at 100 %; spread pieces on the blue, none on another; photograph from straight above with the whole rim in view."
	out = append(out, text(regular(), words, s.WidthMM/2, f[3]+2.7, 2.4, centre, black))
	return append(out, checkLine(s.WidthMM/2-checkLineMM/2, f[3]+5)...)
}
