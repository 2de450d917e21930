package vision

import "math"

// Relight multiplies the light of the photo's channels, linear RGB, by gain, each > 0, in place. What is burnt out stays so.
func (p *Photo) Relight(gain [3]float64) {
	blue, green, red := lifted(gain[2]), lifted(gain[1]), lifted(gain[0])
	pix := p.pixels()
	for i := 0; i+2 < len(pix); i += 3 {
		pix[i], pix[i+1], pix[i+2] = blue[pix[i]], green[pix[i+1]], red[pix[i+2]]
	}
}

// lifted are the stored values under gain times the light.
func lifted(gain float64) *[256]uint8 {
	var t [256]uint8
	for v := range t {
		t[v] = stored(math.Min(1, float64(linear[v])/255*gain))
	}
	return &t
}

// stored is the sRGB value (IEC 61966-2-1) of linear light 0..1.
func stored(light float64) uint8 {
	v := 12.92 * light
	if light > 0.0031308 {
		v = 1.055*math.Pow(light, 1/2.4) - 0.055
	}
	return uint8(255*v + 0.5)
}
