package report

import (
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
)

var plainFont, boldFont = parseFont(goregular.TTF), parseFont(gobold.TTF)

func parseFont(ttf []byte) *opentype.Font {
	f, err := opentype.Parse(ttf)
	if err != nil {
		panic(err) // the font is compiled in
	}
	return f
}

func face(f *opentype.Font, px float64) font.Face {
	face, err := opentype.NewFace(f, &opentype.FaceOptions{Size: px, DPI: 72, Hinting: font.HintingNone})
	if err != nil {
		panic(err) // only for a size that is none
	}
	return face
}

// fontSize is the height of the text in px: some 50 letters across the picture, which a phone held
// upright still shows at 3 mm.
func fontSize(widthPx int) float64 { return max(9, float64(widthPx)/34) }
