package vision

import (
	"slices"

	"gristmark/internal/result"
)

// Limits of the measurement of sharpness, lengths in work px.
const (
	widthLeast = 15.0 // of the light, of 255, between the two
	widthSpan  = 1.5  // to either side, for the steepest place
	widthStep  = 0.25
)

// widthLook is how the widths of edges are taken along an outline: at each of so many points, with the normal over an arm of points to either side, and
// with the light of inside and outside looked for as far as far, work px.
type widthLook struct {
	every, arm int
	far        float64
}

// sharpLook is for the edges of a photo that may be measured, blotLook for those up to a picture in which pieces run into blots.
var (
	sharpLook = widthLook{every: 5, arm: 1, far: 4}
	blotLook  = widthLook{every: 15, arm: 2, far: 14}
)

// widths are the widths of the edge along an outline, work px: the whole step of light over its steepest rise. Shading of the
// piece makes single ones too wide; the photo's sharpness is that of the narrowest quarter.
func (e *edgeFinder) widths(l loop, look widthLook) []float64 {
	var out []float64
	n := len(l.line)
	for i := 0; i < n; i += look.every {
		if l.joint[i] {
			continue
		}
		if w, ok := e.width(l.line[i], outward(l.line[(i+n-look.arm)%n], l.line[(i+look.arm)%n]), look.far); ok {
			out = append(out, w)
		}
	}
	return out
}

func (e *edgeFinder) width(p, n result.XY, far float64) (float64, bool) {
	in, out := e.ends(p, n, reach{far, far}, endStep)
	if in > -1 || out < 1 {
		return 0, false
	}
	b := e.light(p, n, out)
	axis, size := lightStep(e.light(p, n, in), b)
	if size < widthLeast*widthLeast {
		return 0, false
	}
	steepest := float32(0)
	prev, _ := lightStep(e.light(p, n, -widthSpan-widthStep), b)
	for t := -widthSpan; t <= widthSpan; t += widthStep {
		next, _ := lightStep(e.light(p, n, t), b)
		steepest = max(steepest, dot3(prev, axis)-dot3(next, axis))
		prev = next
	}
	if steepest <= 0 {
		return 0, false
	}
	return float64(size / steepest * widthStep), true
}

// lightStep is the way from the light b to a, and its length squared.
func lightStep(a, b [3]float32) (axis [3]float32, size float32) {
	axis = [3]float32{a[0] - b[0], a[1] - b[1], a[2] - b[2]}
	return axis, dot3(axis, axis)
}

func dot3(a, b [3]float32) float32 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// Reaches of the second look, work px: found on tuning scenes, sharp ones, shaken ones and ones out of focus.
const (
	nearIn     = 0.5 // of a sharp photo; less inside than outside, for rims shade off
	nearOut    = 1.0
	sharpWidth = 1.5 // of the edges of a sharp photo
	perWidth   = 1.5 // reach for every px of width beyond
)

// sharpest is the width of the photo's narrower edges: their lower quartile, that of a sharp photo where there are none. It sorts them.
func sharpest(widths []float64) float64 {
	if len(widths) == 0 {
		return sharpWidth
	}
	slices.Sort(widths)
	return widths[len(widths)/4]
}

// secondReach takes the photo's sharpness from the widths of its edges.
func secondReach(widths []float64) reach {
	more := perWidth * max(0, sharpest(widths)-sharpWidth)
	return reach{min(nearIn+more, edgeReach), min(nearOut+more, edgeReach)}
}
