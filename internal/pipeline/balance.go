package pipeline

import (
	"math"

	"gristmark/calib"
	"gristmark/internal/kernels"
	"gristmark/vision"
)

// Casts and dimness of light under which pieces are named well as they are, and those from which on a photo is wholly corrected by what of it is
// white. Logarithms of ratios of linear light; between them it is corrected by degrees. Of the rendered tuning scenes, in daylight, flash and dusk, none
// lies beyond the first: those are what names were fitted on.
const (
	usualTint, oddTint   = 0.10, 0.20 // green or magenta
	usualWarm, oddWarm   = 0.45, 0.70 // yellow to red, as of lamps
	usualCool, oddCool   = 0.14, 0.24 // blue, as of shade
	usualLight, dimLight = 0.35, 0.22 // of white paper, 0..1
	daylight             = 0.60       // of white paper, to which dim photos are lifted
)

// light is that of a photo by its white, sRGB 0..1: linear green, and the cast.
type light struct {
	srgb       [3]float64
	green      float64
	warm, tint float64 // ln of ratios: along daylight's locus, towards yellow; and across it, towards magenta
}

func lightOf(white [3]float64) light {
	l := light{srgb: white, green: kernels.Linear(white[1])}
	red, blue := math.Log(kernels.Linear(white[0])/l.green), math.Log(kernels.Linear(white[2])/l.green)
	l.warm, l.tint = (red-2*blue)/math.Sqrt(5), (2*red+blue)/math.Sqrt(5)
	return l
}

// cast is how far, 0 to 1, the light's colour asks for a correction, and that colour.
func (l light) cast() (ask float64, colour string) {
	for _, c := range []struct {
		ask    float64
		colour string
	}{
		{between(l.warm, usualWarm, oddWarm), "yellow"},
		{between(-l.warm, usualCool, oddCool), "blue"},
		{between(-l.tint, usualTint, oddTint), "green"},
		{between(l.tint, usualTint, oddTint), "red"},
	} {
		if c.ask > ask {
			ask, colour = c.ask, c.colour
		}
	}
	return ask, colour
}

// dim is how far, 0 to 1, the light's dimness asks for one.
func (l light) dim() float64 { return between(-l.green, -usualLight, -dimLight) }

// between rises from 0 at a to 1 at b.
func between(x, a, b float64) float64 { return max(0, min(1, (x-a)/(b-a))) }

// gain is what the photo's linear red, green and blue are multiplied by; ok is false where the light is usual. No channel falls: what is burnt out would
// take the colour of the others.
func (l light) gain() (gain [3]float64, ok bool) {
	cast, _ := l.cast()
	dim := l.dim()
	lift := math.Pow(daylight/l.green, dim)
	most := kernels.Linear(max(l.srgb[0], l.srgb[1], l.srgb[2]))
	for k, v := range l.srgb {
		gain[k] = lift * math.Pow(most/kernels.Linear(v), cast)
	}
	return gain, cast > 0 || dim > 0
}

// note says in words what is corrected.
func (l light) note() string {
	if _, colour := l.cast(); colour != "" {
		return "the photo has a " + colour + " cast: its colours are"
	}
	return "the photo is dark: its light is"
}

// balance corrects the photo's light, in place, where it is unusual, and says so; else it says nothing. Only white paper tells the light's colour;
// how dim it is the brightest of the picture tells too.
func balance(photo *vision.Photo, plane *calib.Plane) (note string, err error) {
	picture, err := pictureOf(photo)
	if err != nil {
		return "", err
	}
	const byPaper, byEye = "corrected by the white paper of the ruler", "corrected by what is brightest in it"
	how := byPaper
	white, ok := kernels.Paper(picture, paperOf(plane))
	if !ok {
		how = byEye
		end := picture.brightEnd()
		white = [3]float64{end, end, end}
	}
	l := lightOf(white)
	gain, ok := l.gain()
	if !ok {
		return "", nil
	}
	photo.Relight(gain)
	return l.note() + " " + how, nil
}

// Samples of the picture, and the share of them that is as bright as its bright end: less than the pieces cover, more than they shine.
const (
	lightSamples = 20000
	brightShare  = 0.005
)

// brightEnd is how bright the brightest of the picture is, sRGB 0..1 of the largest channel, at least a little.
func (b bgr) brightEnd() float64 {
	var count [256]int
	n := 0
	for i := 0; i+2 < len(b.pix); i += 3 * max(1, b.w*b.h/lightSamples) {
		count[max(b.pix[i], b.pix[i+1], b.pix[i+2])]++
		n++
	}
	v, more := 255, 0
	for ; v > 1; v-- {
		if more += count[v]; float64(more) > brightShare*float64(n) {
			break
		}
	}
	return float64(v) / 255
}
