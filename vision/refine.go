package vision

import (
	"math"

	"gristmark/internal/result"
)

// edgeFinder moves the points of an outline onto the edge that the full photo shows.
type edgeFinder struct {
	pix      []uint8 // BGR of the photo
	w, h     int
	contrast []uint8 // of the work image
	cw, ch   int
	sx, sy   float64 // photo px per work px
	pxPerMM  float64 // work px

	wide []float64 // widths of the edges, work px, by blotLook
	last lastLook
}

// Reach and step of the search across the edge, in work px.
const (
	leastStep = 5.0 // of the light, of 255, between inside and outside
	edgeReach = 4.4 // at most
	edgeStep  = 0.2
	endStep   = 0.5
)

// reach is how far from a point the inside and the outside are looked for, work px, at most edgeReach.
type reach struct{ in, out float64 }

// firstReach bridges what the outline of work pixels may be off.
var firstReach = reach{2.2, 2.2}

// loop is a part's outline in work px, evenly spaced, and where it runs along a neighbour.
type loop struct {
	line  []result.XY
	joint []bool
}

// refine puts the parts' outlines on the edges of the photo, in photo px, sub-pixel. The first look bridges what the work
// pixels are off and is smoothed; from there the second looks as near as the photo is sharp: a rim that shades
// off or a shadow close by then moves it little, and the corners that smoothing has cut come back.
// The joints of pieces that run across others, where the photo shows no edge of theirs, go by the sides seen beside them.
func (e *edgeFinder) refine(parts []part) [][]result.XY {
	loops := make([]loop, len(parts))
	var widths []float64
	for i, p := range parts {
		loops[i] = e.approach(p)
		widths = append(widths, e.widths(loops[i], sharpLook)...)
		e.wide = append(e.wide, e.widths(loops[i], blotLook)...)
	}
	r := secondReach(widths)
	e.seen(sharpest(widths))
	out := make([][]result.XY, len(parts))
	for i, l := range loops {
		e.correct(l, e.settle(l, r))
		if parts[i].crossed {
			l.line = straightened(l, e.pxPerMM, e.onPiece)
		}
		out[i] = e.toPhoto(l.line)
	}
	return out
}

// approach resamples the part's outline and moves it to the nearest edge.
func (e *edgeFinder) approach(p part) loop {
	line, joint := resample(p, 1.0)
	n := len(line)
	if n < 5 {
		return loop{line, joint}
	}
	line = smoothLoop(line, 1)
	shift := make([]float64, n)
	known := make([]bool, n)
	normal := make([]result.XY, n)
	for i := range line {
		normal[i] = outward(line[(i+n-2)%n], line[(i+2)%n])
		if !joint[i] {
			shift[i], known[i] = e.edgeAt(line[i], normal[i], firstReach)
		}
	}
	calm(shift, known)
	for i := range line {
		line[i] = moved(line[i], normal[i], shift[i])
	}
	return loop{line, joint}
}

// furthest that a point moves at the second look, work px.
const furthest = 1.0

// settle moves the outline's points onto the edge once more, each by the middle of what it and its neighbours ask for, and tells by how much.
func (e *edgeFinder) settle(l loop, r reach) []float64 {
	n := len(l.line)
	shift, by := make([]float64, n), make([]float64, n)
	if n < 5 {
		return by
	}
	normal := make([]result.XY, n)
	for i := range l.line {
		normal[i] = outward(l.line[(i+n-1)%n], l.line[(i+1)%n])
		if !l.joint[i] {
			s, _ := e.edgeAt(l.line[i], normal[i], r)
			shift[i] = min(max(s, -furthest), furthest)
		}
	}
	for i := range l.line {
		a, b, c := shift[(i+n-1)%n], shift[i], shift[(i+1)%n]
		by[i] = max(min(a, b), min(max(a, b), c))
		l.line[i] = moved(l.line[i], normal[i], by[i])
	}
	return by
}

// moved is the point t along a direction.
func moved(p, along result.XY, t float64) result.XY {
	return result.XY{p[0] + t*along[0], p[1] + t*along[1]}
}

func (e *edgeFinder) toPhoto(line []result.XY) []result.XY {
	out := make([]result.XY, len(line))
	for i, p := range line {
		out[i] = result.XY{p[0] * e.sx, p[1] * e.sy}
	}
	return out
}

// outward is the unit normal of a clockwise outline (y down) that points out of the piece.
func outward(a, b result.XY) result.XY {
	dx, dy := b[0]-a[0], b[1]-a[1]
	l := math.Hypot(dx, dy)
	if l == 0 {
		return result.XY{}
	}
	return result.XY{dy / l, -dx / l}
}

// edgeAt finds where the colour is half way between inside and outside, as a shift along the
// normal in work px. It fails where there is no clear step.
func (e *edgeFinder) edgeAt(p, n result.XY, r reach) (shift float64, ok bool) {
	in, out := e.ends(p, n, r, endStep)
	lo, hi := tap(in), tap(out)
	if hi-lo < 3 {
		return 0, false
	}
	a, b := e.light(p, n, float64(lo)*edgeStep-edgeReach), e.light(p, n, float64(hi)*edgeStep-edgeReach)
	axis, size, shade := hueStep(a, b)
	if shade {
		if deep, x, l := e.behindShade(p, n, in, r.out, b); l > 0 {
			axis, size, lo = x, l, tap(deep)
		}
	}
	if size < leastStep*leastStep {
		return 0, false
	}
	prev := float32(1)
	for k := lo + 1; k <= hi; k++ {
		v := e.light(p, n, float64(k)*edgeStep-edgeReach)
		d := ((v[0]-b[0])*axis[0] + (v[1]-b[1])*axis[1] + (v[2]-b[2])*axis[2]) / size
		if d <= 0.5 {
			mid := float64(k-1) + float64((prev-0.5)/max(prev-d, 1e-6))
			return mid*edgeStep - edgeReach, true
		}
		prev = d
	}
	return 0, false
}

// behindShade looks further inward than in, at which there is but shade of the tray b: a piece behind a shadow has another hue and more than
// twice the contrast, which discounts shadows. It gives where, and the step to there; of no size if there is none.
func (e *edgeFinder) behindShade(p, n result.XY, in, out float64, b [3]float32) (deep float64, axis [3]float32, size float32) {
	deep, _ = e.ends(p, n, reach{edgeReach, out}, endStep)
	axis, size, shade := hueStep(e.light(p, n, deep), b)
	if shade || 2*int(e.contrastAt(p[0]+in*n[0], p[1]+in*n[1])) >= int(e.contrastAt(p[0]+deep*n[0], p[1]+deep*n[1])) {
		size = 0
	}
	return deep, axis, size
}

// light is the photo's at p + t·n, work px.
func (e *edgeFinder) light(p, n result.XY, t float64) [3]float32 {
	return e.sample((p[0]+t*n[0])*e.sx, (p[1]+t*n[1])*e.sy)
}

func tap(t float64) int { return int((t+edgeReach)/edgeStep + 0.5) }

// ends chooses where along the normal the inside and the outside are read: as far inward as the
// contrast holds, before the piece's far side, and as far outward as it falls, before a neighbour. It goes by steps, work px.
func (e *edgeFinder) ends(p, n result.XY, r reach, step float64) (in, out float64) {
	top := 0
	for t := 0.0; t >= -r.in; t -= step {
		c := int(e.contrastAt(p[0]+t*n[0], p[1]+t*n[1]))
		if c*8 < top*7 {
			break
		}
		top, in = max(top, c), t
	}
	low := 256
	for t := 0.0; t <= r.out; t += step {
		c := int(e.contrastAt(p[0]+t*n[0], p[1]+t*n[1]))
		if c > low+8 {
			break
		}
		low, out = min(low, c), t
	}
	return in, out
}

// onPiece tells whether the point p of the work image stands out from the tray.
func (e *edgeFinder) onPiece(p result.XY) bool {
	return e.contrastAt(p[0], p[1]) >= weakLimit*contrastScale
}

func (e *edgeFinder) contrastAt(x, y float64) uint8 {
	ix, iy := int(x), int(y)
	if ix < 0 || iy < 0 || ix >= e.cw || iy >= e.ch {
		return 0
	}
	return e.contrast[iy*e.cw+ix]
}

// linear undoes the sRGB tone curve (IEC 61966-2-1), scaled to 0..255: light adds up, stored values
// do not, and an edge lies where half the light is the piece's.
var linear = func() (t [256]float32) {
	for i := range t {
		v := float64(i) / 255
		if v <= 0.04045 {
			t[i] = float32(255 * v / 12.92)
		} else {
			t[i] = float32(255 * math.Pow((v+0.055)/1.055, 2.4))
		}
	}
	return
}()

// sample interpolates the photo's light at (x, y) px.
func (e *edgeFinder) sample(x, y float64) (c [3]float32) {
	x = min(max(x-0.5, 0), float64(e.w-1))
	y = min(max(y-0.5, 0), float64(e.h-1))
	x0, y0 := int(x), int(y)
	x1, y1 := min(x0+1, e.w-1), min(y0+1, e.h-1)
	fx, fy := float32(x-float64(x0)), float32(y-float64(y0))
	up, low := e.pix[3*y0*e.w:], e.pix[3*y1*e.w:]
	p, q := up[3*x0:3*x0+3:3*x0+3], up[3*x1:3*x1+3:3*x1+3]
	r, s := low[3*x0:3*x0+3:3*x0+3], low[3*x1:3*x1+3:3*x1+3]
	for k := range c {
		a, b := linear[p[k]], linear[r[k]]
		top := a + fx*(linear[q[k]]-a)
		low := b + fx*(linear[s[k]]-b)
		c[k] = top + fy*(low-top)
	}
	return c
}

// resample spaces the outline's points evenly, about step apart.
func resample(p part, step float64) ([]result.XY, []bool) {
	run := arcLengths(p.outline)
	n := len(p.outline)
	total := run[n]
	m := max(8, int(total/step+0.5))
	line, joint := make([]result.XY, m), make([]bool, m)
	k := 0
	for i := range m {
		at := total * float64(i) / float64(m)
		for k+1 < n && run[k+1] <= at {
			k++
		}
		a, b := p.outline[k], p.outline[(k+1)%n]
		t := 0.0
		if l := run[k+1] - run[k]; l > 0 {
			t = (at - run[k]) / l
		}
		line[i] = result.XY{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
		joint[i] = p.joint[k] && p.joint[(k+1)%n]
	}
	return line, joint
}

// smoothLoop runs the kernel 1/4, 1/2, 1/4 along the closed line, times over.
func smoothLoop(line []result.XY, times int) []result.XY {
	n := len(line)
	for range times {
		next := make([]result.XY, n)
		for i := range line {
			a, b, c := line[(i+n-1)%n], line[i], line[(i+1)%n]
			next[i] = result.XY{(a[0] + 2*b[0] + c[0]) / 4, (a[1] + 2*b[1] + c[1]) / 4}
		}
		line = next
	}
	return line
}

// calm replaces each shift by the median of its neighbourhood's known ones, then smooths.
func calm(shift []float64, known []bool) {
	n := len(shift)
	src := append([]float64(nil), shift...)
	for i := range shift {
		var near [5]float64
		m := 0
		for k := -2; k <= 2; k++ {
			if j := (i + k + n) % n; known[j] {
				near[m] = src[j]
				m++
			}
		}
		shift[i] = median5(near[:m])
	}
	copy(src, shift)
	for i := range shift {
		shift[i] = (src[(i+n-1)%n] + 2*src[i] + src[(i+1)%n]) / 4
	}
}

func median5(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	for i := 1; i < len(v); i++ {
		for j := i; j > 0 && v[j] < v[j-1]; j-- {
			v[j], v[j-1] = v[j-1], v[j]
		}
	}
	return v[len(v)/2]
}
