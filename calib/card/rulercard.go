package card

import (
	"image/color"
	"strconv"
)

// Grey patches of the card, sRGB, dark to light.
var greys = [3]uint8{70, 128, 190}

// Where the ticks of the card begin, and how far they go, mm.
const (
	tickStartMM  = 5
	tickLengthMM = 140
)

// Card is the ruler card: 150 x 40 mm, a large marker at each end, readable from afar, and four
// small ones inward of each, so that half the card still carries five markers; mm ticks along the
// lower edge, three grey patches. The markers reach over the whole strip: the longer the base, the
// less the scale drifts away from the card.
func Card() Sheet {
	s := Sheet{Name: "card", WidthMM: 150, HeightMM: 40, details: cardDetails}
	const end, small = 25.0, 11.5
	s.Markers = append(s.Markers, Marker{0, 4, 3.5, end}, Marker{1, 121, 3.5, end})
	id := 2
	for _, x := range []float64{32.5, 46.5, 92, 106} {
		for _, y := range []float64{3.5, 17} {
			s.Markers = append(s.Markers, Marker{id, x, y, small})
			id++
		}
	}
	return s
}

func cardDetails(s Sheet) []Shape {
	out := ticks(tickStartMM, s.HeightMM, tickLengthMM)
	for i, g := range greys {
		out = append(out, rect(61+float64(i)*9.5, 19.5, 9, 9, color.NRGBA{g, g, g, 255}))
	}
	out = append(out, text(bold(), "gristmark card", 75, 6, 3.3, centre, black))
	for i, line := range []string{
		"Lay flat on the tray, clear of",
		"pieces, all of it in the photo.",
		"Print at 100 %. Check: 140 mm",
		"below is 140 mm on a rule.",
	} {
		out = append(out, text(regular(), line, 75, 9.2+2.6*float64(i), 2.1, centre, black))
	}
	return out
}

// ticks draws a millimetre scale standing on the edge y, from x to the right, numbered each 10 mm.
func ticks(x, y float64, lengthMM int) []Shape {
	const width = 0.15
	var out []Shape
	for i := range lengthMM + 1 {
		height := 2.4
		switch {
		case i%10 == 0:
			height = 4.6
			out = append(out, text(regular(), strconv.Itoa(i), x+float64(i), y-5.2, 2.6, centre, black))
		case i%5 == 0:
			height = 3.5
		}
		out = append(out, rect(x+float64(i)-width/2, y-height, width, height, black))
	}
	return append(out, text(regular(), "mm", x-2.5, y-1.2, 1.9, centre, black))
}
