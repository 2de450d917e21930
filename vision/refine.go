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

	rises []float64 // widths of the edges found, 10 to 90 % of the step, work px
}

// Reach and step of the search across the edge, in work px.
const (
	leastStep = 5.0 // of the light, of 255, between inside and outside
	edgeReach = 2.2
	edgeStep  = 0.2
	edgeTaps  = 23 // 2 edgeReach / edgeStep + 1
)

// refine resamples the part's outline (work px) and returns it in photo px, sub-pixel.
func (e *edgeFinder) refine(p part) []result.XY {
	line, joint := resample(p, 1.0)
	n := len(line)
	if n < 5 {
		return e.toPhoto(line)
	}
	line = smoothLoop(line, 1)
	shift := make([]float64, n)
	known := make([]bool, n)
	normal := make([]result.XY, n)
	for i := range line {
		normal[i] = outward(line[(i+n-2)%n], line[(i+2)%n])
		if !joint[i] {
			shift[i], known[i] = e.edgeAt(line[i], normal[i])
		}
	}
	calm(shift, known)
	for i := range line {
		line[i] = result.XY{line[i][0] + shift[i]*normal[i][0], line[i][1] + shift[i]*normal[i][1]}
	}
	return e.toPhoto(line)
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
func (e *edgeFinder) edgeAt(p, n result.XY) (float64, bool) {
	var v [edgeTaps][3]float32
	in, out := e.ends(p, n)
	lo, hi := tap(in), tap(out)
	if hi-lo < 3 {
		return 0, false
	}
	for k := lo; k <= hi; k++ {
		t := float64(k)*edgeStep - edgeReach
		v[k] = e.sample((p[0]+t*n[0])*e.sx, (p[1]+t*n[1])*e.sy)
	}
	a, b := v[lo], v[hi]
	axis := [3]float32{a[0] - b[0], a[1] - b[1], a[2] - b[2]}
	size := axis[0]*axis[0] + axis[1]*axis[1] + axis[2]*axis[2]
	if size < leastStep*leastStep {
		return 0, false
	}
	prev, start := float32(1), float64(lo)
	for k := lo + 1; k <= hi; k++ {
		d := ((v[k][0]-b[0])*axis[0] + (v[k][1]-b[1])*axis[1] + (v[k][2]-b[2])*axis[2]) / size
		if d <= 0.75 && prev > 0.75 {
			start = float64(k-1) + float64((prev-0.75)/(prev-d))
		}
		if d <= 0.5 {
			mid := float64(k-1) + float64((prev-0.5)/max(prev-d, 1e-6))
			e.rises = append(e.rises, 2*riseOfHalf*(mid-start)*edgeStep)
			return mid*edgeStep - edgeReach, true
		}
		prev = d
	}
	return 0, false
}

// riseOfHalf turns the distance from 75 to 50 % of a step blurred by a Gaussian into that from 90 to
// 50 %: 1.2816 / 0.6745.
const riseOfHalf = 1.9

func tap(t float64) int { return int((t+edgeReach)/edgeStep + 0.5) }

// ends chooses where along the normal the inside and the outside are read: as far inward as the
// contrast holds, before the piece's far side, and as far outward as it falls, before a neighbour.
func (e *edgeFinder) ends(p, n result.XY) (in, out float64) {
	top := 0
	for t := 0.0; t >= -edgeReach; t -= 0.5 {
		c := int(e.contrastAt(p[0]+t*n[0], p[1]+t*n[1]))
		if c*8 < top*7 {
			break
		}
		top, in = max(top, c), t
	}
	low := 256
	for t := 0.0; t <= edgeReach; t += 0.5 {
		c := int(e.contrastAt(p[0]+t*n[0], p[1]+t*n[1]))
		if c > low+8 {
			break
		}
		low, out = min(low, c), t
	}
	return in, out
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
	x = math.Min(math.Max(x-0.5, 0), float64(e.w-1))
	y = math.Min(math.Max(y-0.5, 0), float64(e.h-1))
	x0, y0 := int(x), int(y)
	x1, y1 := min(x0+1, e.w-1), min(y0+1, e.h-1)
	fx, fy := float32(x-float64(x0)), float32(y-float64(y0))
	p, q := e.pix[3*(y0*e.w+x0):], e.pix[3*(y0*e.w+x1):]
	r, s := e.pix[3*(y1*e.w+x0):], e.pix[3*(y1*e.w+x1):]
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
