package vision

// Limits of a step of hue, which a shadow on the tray does not show.
const (
	leastHue      = 12.0 // of the light, of 255, across the tray's own colour
	leastHueShare = 0.3  // of the whole step
)

// hueStep is the way from the light b of the tray to the light a of a piece, and its length squared. Where the piece is darker than
// the tray, a shadow beside it lies half way too: then the way is taken across the tray's colour, along which light and shade of the
// tray lie, if the piece is of another hue. Shade is what is darker and of the tray's hue: a shadow, or a grey piece.
func hueStep(a, b [3]float32) (axis [3]float32, size float32, shade bool) {
	axis, size = lightStep(a, b)
	bb := dot3(b, b)
	if bb == 0 {
		return axis, size, false
	}
	k := dot3(a, b) / bb
	if k >= 1 {
		return axis, size, false
	}
	hue := [3]float32{a[0] - k*b[0], a[1] - k*b[1], a[2] - k*b[2]}
	if hh := dot3(hue, hue); hh >= leastHue*leastHue && hh >= leastHueShare*leastHueShare*size {
		return hue, hh, false
	}
	return axis, size, true
}
