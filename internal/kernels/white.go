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
	burntOut     = 0.985 // a channel from here on is clipped, and tells no colour
	darkestTray  = 0.55  // a white tray is no darker, sRGB
	tintedTray   = 0.12  // the largest channel of a white tray is no more over the smallest, of the largest
)

// White finds what of a picture is white: the paper of the ruler's outlines (px), or without any the ground of the field (px), which pieces
// cover less than half of, where it is bright and nearly neutral. Nil where there is neither, or the paper is burnt out.
func White(picture image.Image, paper [][]result.XY, field []result.XY) *result.White {
	if len(paper) > 0 {
		return paperWhite(picture, paper)
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

// paperWhite is the middle colour of what is nearly as bright as the bright end of the outlines.
func paperWhite(picture image.Image, paper [][]result.XY) *result.White {
	var seen [][3]float64
	for _, outline := range paper {
		eachPixel(picture, outline, whiteSamples/float64(len(paper)), func(rgb [3]float64) { seen = append(seen, rgb) })
	}
	if len(seen) < fewestWhite {
		return nil
	}
	green := make([]float64, len(seen))
	for i, rgb := range seen {
		green[i] = rgb[1]
	}
	slices.Sort(green)
	least := paperShare * green[len(green)*95/100]
	white, ok := medianColour(slices.DeleteFunc(seen, func(rgb [3]float64) bool { return rgb[1] < least }))
	if !ok || slices.Max(white[:]) > burntOut || slices.Min(white[:]) < 0.1 {
		return nil
	}
	return &result.White{From: WhitePaper, SRGB: white}
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
