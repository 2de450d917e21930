package scene

import "math"

// rgb is linear light or linear reflectance.
type rgb [3]float64

// srgb8 turns display values 0..255 into linear reflectance.
func srgb8(r, g, b float64) rgb {
	return rgb{fromSRGB(r / 255), fromSRGB(g / 255), fromSRGB(b / 255)}
}

// fromSRGB and toSRGB: IEC 61966-2-1.
func fromSRGB(v float64) float64 {
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

func toSRGB(v float64) float64 {
	if v <= 0.0031308 {
		return 12.92 * v
	}
	return 1.055*math.Pow(v, 1/2.4) - 0.055
}

func (c rgb) mix(d rgb, t float64) rgb {
	return rgb{c[0] + (d[0]-c[0])*t, c[1] + (d[1]-c[1])*t, c[2] + (d[2]-c[2])*t}
}

func (c rgb) times(k float64) rgb { return rgb{c[0] * k, c[1] * k, c[2] * k} }

func (c rgb) by(d rgb) rgb { return rgb{c[0] * d[0], c[1] * d[1], c[2] * d[2]} }

func (c rgb) plus(d rgb) rgb { return rgb{c[0] + d[0], c[1] + d[1], c[2] + d[2]} }

func (c rgb) luma() float64 { return 0.2126*c[0] + 0.7152*c[1] + 0.0722*c[2] }

// kelvin is the colour of a source against one of 5500 K, of unit luminance; a rough fit, common practice.
func kelvin(k float64) rgb {
	t := (5500 - k) / 5500
	c := rgb{1 + 0.55*t, 1, 1 - 0.85*t}
	if t < 0 {
		c = rgb{1 + 0.5*t, 1, 1 - 0.6*t}
	}
	return c.times(1 / c.luma())
}
