package vision

import (
	"fmt"
	"math"

	"gristmark/internal/result"
)

// Taps across the outline at which the photo is read for the last look, photo px: lens, noise reduction and sharpening blur edges by so many of those,
// whatever the work image is reduced by.
const (
	tapReach = 3.0
	tapStep  = 0.5
	taps     = 13
)

// edgeNames tell what describes a point of an outline to the model of edges, which stores them.
var edgeNames = func() (names []string) {
	for _, what := range []string{"step", "hue", "log light"} {
		for k := range taps {
			names = append(names, fmt.Sprintf("%s at %+.1f", what, float64(k)*tapStep-tapReach))
		}
	}
	for k := 0; k < taps; k += 2 {
		names = append(names, fmt.Sprintf("contrast at %+.1f", float64(k)*tapStep-tapReach))
	}
	return append(names, "piece at -2", "piece at 0", "piece at +2", "kernel at -1.5", "inside at", "outside at", "shade",
		"log step", "log light outside", "moved", "turn", widthOfEdges)
}()

// finest is how many photo px a work px may hold for the last look to be followed. In finer photos the second look is off by little more than half as
// much, and the model, which saw few of them, would shift it by more than that.
const finest = 1.5

const widthOfEdges = "width of edges"

// lastLook is what correct has to go by, beside the photo.
type lastLook struct {
	model *EdgeModel
	net   *netMap
	width float64 // of the photo's edges, photo px
	trust float64 // 0 to 1, how far the model is followed in this photo

	// record gets the features of points in place of the model, while that is fitted: with the point, photo px, and the
	// way that one photo px outward takes there.
	record func(f []float64, at, outward result.XY)
}

// photoPx is how many work px a px of the photo is wide.
func (e *edgeFinder) photoPx() float64 { return 1 / math.Sqrt(e.sx*e.sy) }

// seen takes over how wide the photo's edges are, work px, and with it how far the model is followed.
func (e *edgeFinder) seen(width float64) {
	e.last.width = width / e.photoPx()
	if e.sx*e.sy <= finest {
		e.last.trust = e.last.model.trust(e.last.width)
	}
}

// correct moves the outline by what the model says of every other point, where it may be trusted; came is by how much each moved at the
// look before.
func (e *edgeFinder) correct(l loop, came []float64) {
	n := len(l.line)
	if n < 8 || e.last.trust == 0 && e.last.record == nil {
		return
	}
	normal := make([]result.XY, n)
	for i := range l.line {
		normal[i] = outward(l.line[(i+n-1)%n], l.line[(i+1)%n])
	}
	px := e.photoPx()
	shift := make([]float64, (n+1)/2)
	f := make([]float64, 0, len(edgeNames))
	for k := range shift {
		i := 2 * k
		if l.joint[i] {
			continue
		}
		f = e.across(f[:0], l.line[i], normal[i], came[i], turnAt(l.line, i))
		if e.last.record == nil {
			shift[k] = px * e.last.trust * e.last.model.Shift(f)
			continue
		}
		p, q := l.line[i], normal[i]
		e.last.record(f, result.XY{p[0] * e.sx, p[1] * e.sy}, result.XY{px * q[0] * e.sx, px * q[1] * e.sy})
	}
	m := len(shift)
	for i := range l.line {
		if l.joint[i] {
			continue
		}
		a, b, c := shift[(i/2+m-1)%m], shift[i/2], shift[(i/2+1)%m]
		t := (a + 2*b + c) / 4
		if i%2 == 1 {
			t = (b + c) / 2
		}
		l.line[i] = moved(l.line[i], normal[i], t)
	}
}

// turnAt is the angle by which the line turns at point i, over two points on each side, rad; positive where it bulges.
func turnAt(line []result.XY, i int) float64 {
	n := len(line)
	a, p, b := line[(i+n-2)%n], line[i], line[(i+2)%n]
	ux, uy, vx, vy := p[0]-a[0], p[1]-a[1], b[0]-p[0], b[1]-p[1]
	return math.Atan2(ux*vy-uy*vx, ux*vx+uy*vy)
}

// across appends to f what edgeNames say of the point p of an outline with outward normal n.
func (e *edgeFinder) across(f []float64, p, n result.XY, came, turn float64) []float64 {
	px := e.photoPx()
	in, out := e.ends(p, n, reach{px * firstReach.in, px * firstReach.out}, px*endStep)
	a, b := e.light(p, n, in), e.light(p, n, out)
	axis, size := lightStep(a, b)
	hue, hueSize, shade := hueStep(a, b)
	var light [taps][3]float32
	for k := range light {
		light[k] = e.light(p, n, px*(float64(k)*tapStep-tapReach))
	}
	outside := math.Log(luminance(b) + 2)
	for _, s := range []struct {
		axis [3]float32
		size float32
	}{{axis, size}, {hue, hueSize}} {
		for _, v := range light {
			d, _ := lightStep(v, b)
			f = append(f, float64(max(-1, min(2, dot3(d, s.axis)/max(s.size, 1)))))
		}
	}
	for _, v := range light {
		f = append(f, max(-2, min(2, math.Log(luminance(v)+2)-outside)))
	}
	for k := 0; k < taps; k += 2 {
		t := px * (float64(k)*tapStep - tapReach)
		f = append(f, float64(e.contrastAt(p[0]+t*n[0], p[1]+t*n[1]))/64)
	}
	for _, t := range [3]float64{-2, 0, 2} {
		f = append(f, max(-6, min(6, float64(e.last.net.near(e.last.net.piece, p[0]+t*n[0], p[1]+t*n[1])))))
	}
	dark := 0.0
	if shade {
		dark = 1
	}
	return append(f, float64(e.last.net.near(e.last.net.kernel, p[0]-1.5*n[0], p[1]-1.5*n[1])), in/px, out/px, dark,
		math.Log(math.Sqrt(float64(size))+3), outside, came/px, turn, e.last.width)
}

// luminance of linear BGR light (IEC 61966-2-1).
func luminance(v [3]float32) float64 {
	return float64(0.0722*v[0] + 0.7152*v[1] + 0.2126*v[2])
}

// near is the value of the net pixel that holds the point (x, y) of the work image.
func (m *netMap) near(v []float32, x, y float64) float32 { return v[m.index(int(x), int(y))] }
