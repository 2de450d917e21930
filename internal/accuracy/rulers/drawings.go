package rulers

import (
	"image"
	"math"
	"sync"

	"gristmark/calib/card"
)

const rasterDPI = 400

var rasters sync.Map // of sheets, by name

// printed is a sheet of calib/card.
func printed(s card.Sheet) surface {
	kept, ok := rasters.Load(s.Name)
	if !ok {
		kept, _ = rasters.LoadOrStore(s.Name, s.Raster(rasterDPI))
	}
	img := kept.(*image.NRGBA)
	return func(q XY) (tint, bool) {
		x, y := int(math.Floor(q[0]*rasterDPI/25.4)), int(math.Floor(q[1]*rasterDPI/25.4))
		if !(image.Point{X: x, Y: y}).In(img.Rect) {
			return tint{}, false
		}
		i := img.PixOffset(x, y)
		return tint{stored[img.Pix[i]], stored[img.Pix[i+1]], stored[img.Pix[i+2]]}, true
	}
}

var stored = func() (t [256]float32) {
	for i := range t {
		t[i] = float32(toLight(float64(i)))
	}
	return t
}()

// gridded is a sheet of w x h mm with lines at each pitch, each heavy-th of them twice as wide; 0: none.
func gridded(w, h, pitch, line float64, heavy int, paper, ink tint) surface {
	on := func(x float64) bool {
		k := math.Round(x / pitch)
		if heavy > 0 && int(k)%heavy == 0 {
			return math.Abs(x-k*pitch) < line
		}
		return math.Abs(x-k*pitch) < line/2
	}
	return func(q XY) (tint, bool) {
		switch {
		case q[0] < 0 || q[1] < 0 || q[0] > w || q[1] > h:
			return tint{}, false
		case on(q[0]) || on(q[1]):
			return ink, true
		}
		return paper, true
	}
}

// framed is a sheet that reaches rim mm beyond a rectangle of w x h mm between the middles of its lines; without a
// line the rectangle is the sheet itself.
func framed(w, h, line, rim float64, paper, ink tint) surface {
	if line == 0 {
		rim = 0
	}
	return func(q XY) (tint, bool) {
		if q[0] < -rim || q[1] < -rim || q[0] > w+rim || q[1] > h+rim {
			return tint{}, false
		}
		dx, dy := math.Min(math.Abs(q[0]), math.Abs(q[0]-w)), math.Min(math.Abs(q[1]), math.Abs(q[1]-h))
		inX, inY := q[0] > -line/2 && q[0] < w+line/2, q[1] > -line/2 && q[1] < h+line/2
		if line > 0 && (dx < line/2 && inY || dy < line/2 && inX) {
			return ink, true
		}
		return paper, true
	}
}

// ruled is a rule of length x width mm with ticks of a pitch standing on its upper edge from 5 mm on, each per-th
// the longest and those midway between longer than the rest.
func ruled(length, width, pitch float64, per int, body, ink tint) surface {
	return func(q XY) (tint, bool) {
		if q[0] < 0 || q[1] < 0 || q[0] > length || q[1] > width {
			return tint{}, false
		}
		k := math.Round((q[0] - 5) / pitch)
		if k < 0 || q[0] > length-3 || math.Abs(q[0]-5-k*pitch) > 0.09 {
			return body, true
		}
		tall := 3.0
		switch n := int(k); {
		case n%per == 0:
			tall = 7
		case n%(per/2) == 0:
			tall = 5
		}
		if q[1] < tall {
			return ink, true
		}
		return body, true
	}
}
