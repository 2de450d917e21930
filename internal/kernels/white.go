package kernels

import (
	"image"
	"slices"

	"gristmark/internal/result"
)

// What is taken as white.
const (
	WhitePaper = "paper" // of the card or mat
	WhiteTray  = "tray"  // bright and nearly neutral
)

const (
	whiteSamples = 8000 // pixels looked at, about
	fewestWhite  = 50
	paperShare   = 0.8   // of the paper's bright end; darker is print, shadow, or tray beside the sheet
	darkestPaper = 0.1   // sRGB, in any channel
	burntOut     = 0.985 // a channel from here on is clipped, and tells no colour
	darkestTray  = 0.55  // a white tray is no darker, sRGB
	tintedTray   = 0.12  // the largest channel of a white tray is no more over the smallest, of the largest
)

// White finds what of a picture is white: the paper of the ruler's outlines (px), or without any the ground of the field (px), which pieces
// cover less than half of, where it is bright and nearly neutral. Nil where there is neither, or the paper is burnt out.
func White(picture image.Image, paper [][]result.XY, field []result.XY) *result.White {
	if len(paper) > 0 {
		if white, ok := Paper(picture, paper); ok && slices.Max(white[:]) <= burntOut {
			return &result.White{From: WhitePaper, SRGB: white}
		}
		return nil
	}
	var seen [][3]float64
	eachPixel(picture, field, whiteSamples, func(rgb [3]float64) { seen = append(seen, rgb) })
	ground, ok := medianColour(seen)
	top, bottom := slices.Max(ground[:]), slices.Min(ground[:])
	if !ok || bottom < darkestTray || top-bottom > tintedTray*top || top > burntOut {
		return nil
	}
	return &result.White{From: WhiteTray, SRGB: ground}
}

// Paper is the middle colour, sRGB 0..1, of what is nearly as bright as the bright end of the outlines (px); ok is false where that is no white. A channel
// may be burnt out: then there is more of it than is told.
func Paper(picture image.Image, outlines [][]result.XY) (white [3]float64, ok bool) {
	var seen [][3]float64
	for _, outline := range outlines {
		eachPixel(picture, outline, whiteSamples/float64(len(outlines)), func(rgb [3]float64) { seen = append(seen, rgb) })
	}
	if len(seen) < fewestWhite {
		return white, false
	}
	green := make([]float64, len(seen))
	for i, rgb := range seen {
		green[i] = rgb[1]
	}
	slices.Sort(green)
	least := paperShare * green[len(green)*95/100]
	white, ok = medianColour(slices.DeleteFunc(seen, func(rgb [3]float64) bool { return rgb[1] < least }))
	return white, ok && slices.Min(white[:]) >= darkestPaper
}

// medianColour is the median of each channel.
func medianColour(seen [][3]float64) (out [3]float64, ok bool) {
	if len(seen) < fewestWhite {
		return out, false
	}
	one := make([]float64, len(seen))
	for k := range out {
		for i, rgb := range seen {
			one[i] = rgb[k]
		}
		slices.Sort(one)
		out[k] = one[len(one)/2]
	}
	return out, true
}
