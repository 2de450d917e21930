package kernels

import (
	"image"
	"math"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// MeanLab is the mean CIE L*a*b* (sRGB picture, D65 white) of the pixels whose centre lies in the outline, which is in px of a picture
// scale times as large. False where there is none.
func MeanLab(picture image.Image, outline []result.XY, scale float64) (lab [3]float64, ok bool) {
	o := make([]result.XY, len(outline))
	for i, p := range outline {
		o[i] = result.XY{p[0] / scale, p[1] / scale}
	}
	return MeanLabOn(picture, o, [3]float64{1, 1, 1})
}

// mostSamples bounds the pixels that a piece's colour is the mean of: more say no more.
const mostSamples = 2000

// MeanLabOn is the mean CIE L*a*b* of the outline, px of the picture, with what has the sRGB colour white, 0..1, taken as white: each linear
// channel is divided by that of the white (von Kries). False where no pixel lies in the outline.
func MeanLabOn(picture image.Image, outline []result.XY, white [3]float64) (lab [3]float64, ok bool) {
	n := 0.0
	eachPixel(picture, outline, mostSamples, func(rgb [3]float64) {
		for k := range rgb {
			rgb[k] = Linear(rgb[k]) / Linear(white[k])
		}
		for k, v := range labOf(rgb[0], rgb[1], rgb[2]) {
			lab[k] += v
		}
		n++
	})
	for k := range lab {
		lab[k] /= math.Max(n, 1)
	}
	return lab, n > 0
}

// eachPixel yields the sRGB colours, 0..1, of the pixels whose centre lies in the outline: all of them, or of an even grid of some most.
func eachPixel(picture image.Image, outline []result.XY, most float64, yield func(rgb [3]float64)) {
	low, high := result.XY{math.Inf(1), math.Inf(1)}, result.XY{math.Inf(-1), math.Inf(-1)}
	for _, p := range outline {
		for k := range p {
			low[k], high[k] = math.Min(low[k], p[k]), math.Max(high[k], p[k])
		}
	}
	box := picture.Bounds()
	step := max(1, int(math.Sqrt((high[0]-low[0])*(high[1]-low[1])/most)))
	for y := max(int(low[1]), 0); y <= int(high[1]) && y < box.Dy(); y += step {
		for x := max(int(low[0]), 0); x <= int(high[0]) && x < box.Dx(); x += step {
			if shape.Contains(outline, result.XY{float64(x) + 0.5, float64(y) + 0.5}) {
				r, g, b, _ := picture.At(box.Min.X+x, box.Min.Y+y).RGBA()
				yield([3]float64{float64(r) / 0xffff, float64(g) / 0xffff, float64(b) / 0xffff})
			}
		}
	}
}

// Linear is the light of an sRGB value (IEC 61966-2-1), both 0..1.
func Linear(v float64) float64 {
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

// labOf converts linear sRGB, 0..1, to CIE L*a*b* (CIE 15).
func labOf(r, g, b float64) [3]float64 {
	f := func(t float64) float64 {
		if t > 216.0/24389 {
			return math.Cbrt(t)
		}
		return (24389.0/27*t + 16) / 116
	}
	x := f((0.4124564*r + 0.3575761*g + 0.1804375*b) / 0.95047)
	y := f(0.2126729*r + 0.7151522*g + 0.0721750*b)
	z := f((0.0193339*r + 0.1191920*g + 0.9503041*b) / 1.08883)
	return [3]float64{116*y - 16, 500 * (x - y), 200 * (y - z)}
}
