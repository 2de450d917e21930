package vision

import (
	"image"
	"math"

	"gristmark/internal/result"
)

// A tray that lies partly in deep shade is shown to the networks, which were fitted on evenly lit ones, with its dark parts lifted to the light of the rest.
const (
	fullLight  = 0.8  // quantile of the bare tray's light over the field: that of the rest
	deepShade  = 0.55 // of that light
	leastShade = 0.08 // of the field lies in deep shade
	mostLift   = 6.0
	everyCell  = 13 // of the cells is looked at
	liftSteps  = 8  // tables for each doubling of the light
)

// evenness is how often the light of each cell goes into that of the rest of the tray: 1 to mostLift. The zero value lifts nothing.
type evenness struct {
	w, h int
	gain []float32
}

// levelOf looks at the bare tray's light, which goes with the cube of L* + 16 (CIE 15).
func levelOf(b *background, f *field) evenness {
	light := func(i int) float64 { v := float64(b.color[i][0]); return v * v * v }
	seen := make([]float64, 0, len(f.mask)/everyCell+1)
	for i := 0; i < len(f.mask); i += everyCell {
		if f.mask[i] {
			seen = append(seen, light(i))
		}
	}
	if len(seen) == 0 {
		return evenness{}
	}
	full := ranked(seen, int(fullLight*float64(len(seen)-1)))
	if ranked(seen, int(leastShade*float64(len(seen)-1))) > deepShade*full {
		return evenness{}
	}
	l := evenness{b.w, b.h, make([]float32, b.w*b.h)}
	for i := range l.gain {
		l.gain[i] = 1
		if f.mask[i] {
			l.gain[i] = float32(math.Max(1, math.Min(mostLift, full/light(i))))
		}
	}
	return l
}

// at is the gain at a work px.
func (l *evenness) at(p result.XY) float64 {
	if l.gain == nil {
		return 1
	}
	x, y := min(max(int(p[0])/cellPx, 0), l.w-1), min(max(int(p[1])/cellPx, 0), l.h-1)
	return float64(l.gain[y*l.w+x])
}

// lift brightens a picture of the box of the work image, in place; perPx are its px per work px.
func (l *evenness) lift(img *labImage, box image.Rectangle, perPx float64) {
	if l.gain == nil {
		return
	}
	tables := map[int]*[256]uint8{}
	for y := range img.h {
		for x := range img.w {
			step := int(liftSteps*math.Log2(l.at(result.XY{float64(box.Min.X) + float64(x)/perPx, float64(box.Min.Y) + float64(y)/perPx})) + 0.5)
			if step == 0 {
				continue
			}
			t := tables[step]
			if t == nil {
				t = lifted(math.Exp2(float64(step) / liftSteps))
				tables[step] = t
			}
			p := img.pix[3*(y*img.w+x) : 3*(y*img.w+x)+3]
			p[0], p[1], p[2] = t[p[0]], t[p[1]], t[p[2]]
		}
	}
}
