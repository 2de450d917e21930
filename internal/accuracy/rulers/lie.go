package rulers

import "math"

// lie is how a sheet or a rule lies on the tray: where, turned, printed at some size, some way above the tray and
// not quite flat.
type lie struct {
	at      XY      // of its own origin, mm
	turn    float64 // radians
	stretch float64 // length on the tray over its own: the print
	above   float64 // thickness, mm
	wave    float64 // height of its waves, mm
	length  float64 // of a wave, mm
	phase   XY
	eye     [3]float64 // the camera's place
}

// height over the tray at a point of it.
func (l *lie) height(mm XY) float64 {
	if l.wave == 0 {
		return l.above
	}
	k := 2 * math.Pi / l.length
	return l.above + l.wave*(1+0.5*math.Sin(k*mm[0]+l.phase[0])+0.5*math.Sin(k*mm[1]+l.phase[1]))
}

// own is the point of the sheet that is seen over a point of the tray.
func (l *lie) own(mm XY) XY {
	k := l.height(mm) / l.eye[2]
	x, y := mm[0]+(l.eye[0]-mm[0])*k-l.at[0], mm[1]+(l.eye[1]-mm[1])*k-l.at[1]
	s, c := math.Sincos(-l.turn)
	return XY{(c*x - s*y) / l.stretch, (s*x + c*y) / l.stretch}
}

// px is where a point of the sheet is seen.
func (l *lie) px(c *camera, own XY) XY {
	s, k := math.Sincos(l.turn)
	mm := XY{l.at[0] + l.stretch*(k*own[0]-s*own[1]), l.at[1] + l.stretch*(s*own[0]+k*own[1])}
	return c.project(mm, l.height(mm))
}

// centred moves the sheet so that a point of its own lies at a point of the tray.
func (l *lie) centred(own, mm XY) {
	s, k := math.Sincos(l.turn)
	l.at = XY{mm[0] - l.stretch*(k*own[0]-s*own[1]), mm[1] - l.stretch*(s*own[0]+k*own[1])}
}

// surface is a drawing in the sheet's own mm as it lies on the tray.
func (l *lie) surface(of surface) surface {
	return func(mm XY) (tint, bool) { return of(l.own(mm)) }
}
