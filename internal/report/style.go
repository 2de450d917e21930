package report

import (
	"image/color"

	"gristmark/internal/result"
)

// style is how a class is drawn: colour and line say the same, so that neither is needed alone. The
// colours are of the palette of Okabe and Ito 2008 (Color Universal Design), safe for colour-blind eyes.
type style struct {
	name  string
	color color.NRGBA
	width float64   // of the line, in units of the stroke
	dash  []float64 // in units of the stroke; nil: unbroken
}

var styles = []struct {
	class result.Class
	style
}{
	{result.WholeKernel, style{"whole kernel", color.NRGBA{0xd5, 0x5e, 0x00, 255}, 1.7, nil}},
	{result.BrokenKernel, style{"broken kernel", color.NRGBA{0x56, 0xb4, 0xe9, 255}, 1, nil}},
	{result.Stover, style{"stover", color.NRGBA{0xf0, 0xe4, 0x42, 255}, 1, []float64{5, 3}}},
	{result.Unsure, style{"unsure", color.NRGBA{0xcc, 0x79, 0xa7, 255}, 1.2, []float64{1, 2.5}}},
}

// cutStyle is for pieces that an edge cuts: they are not measured.
var cutStyle = style{"cut by an edge, not measured", color.NRGBA{0xc8, 0xc8, 0xc8, 255}, 0.8, []float64{2, 2}}

func styleOf(p result.Particle) style {
	if p.CutByEdge {
		return cutStyle
	}
	for _, s := range styles {
		if s.class == p.Class {
			return s.style
		}
	}
	return cutStyle
}

// Colours of what is no particle.
var (
	casing      = color.NRGBA{0, 0, 0, 170} // under every line, so that it shows on any tray
	gridColor   = color.NRGBA{255, 255, 255, 70}
	fieldColor  = color.NRGBA{255, 255, 255, 200}
	usedColor   = color.NRGBA{0x00, 0x9e, 0x73, 255}
	thrownColor = color.NRGBA{0xe6, 0x00, 0x26, 255}
	bandColor   = color.NRGBA{0x16, 0x1a, 0x20, 255}
	textColor   = color.NRGBA{0xf4, 0xf4, 0xf4, 255}
	quietColor  = color.NRGBA{0xb4, 0xba, 0xc2, 255}
)

// verdictColor goes with the word of a verdict, which says the same.
func verdictColor(v *string) color.NRGBA {
	switch {
	case v == nil:
		return quietColor
	case *v == result.OnTarget:
		return color.NRGBA{0x3d, 0xc9, 0x9a, 255}
	case *v == result.Undecided:
		return color.NRGBA{0xf0, 0xe4, 0x42, 255}
	}
	return color.NRGBA{0xff, 0x8c, 0x3a, 255}
}
