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
	low, high := result.XY{math.Inf(1), math.Inf(1)}, result.XY{math.Inf(-1), math.Inf(-1)}
	for i, p := range outline {
		for k := range p {
			o[i][k] = p[k] / scale
			low[k], high[k] = math.Min(low[k], o[i][k]), math.Max(high[k], o[i][k])
		}
	}
	n := 0.0
	box := picture.Bounds()
	for y := max(int(low[1]), 0); y <= int(high[1]) && y < box.Dy(); y++ {
		for x := max(int(low[0]), 0); x <= int(high[0]) && x < box.Dx(); x++ {
			if !shape.Contains(o, result.XY{float64(x) + 0.5, float64(y) + 0.5}) {
				continue
			}
			r, g, b, _ := picture.At(box.Min.X+x, box.Min.Y+y).RGBA()
			for k, v := range labOf(float64(r)/0xffff, float64(g)/0xffff, float64(b)/0xffff) {
				lab[k] += v
			}
			n++
		}
	}
	for k := range lab {
		lab[k] /= math.Max(n, 1)
	}
	return lab, n > 0
}

// labOf converts sRGB (IEC 61966-2-1), 0..1, to CIE L*a*b* (CIE 15).
func labOf(r, g, b float64) [3]float64 {
	lin := func(v float64) float64 {
		if v <= 0.04045 {
			return v / 12.92
		}
		return math.Pow((v+0.055)/1.055, 2.4)
	}
	r, g, b = lin(r), lin(g), lin(b)
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
