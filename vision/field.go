package vision

import (
	"math"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// cellPx is the side of a cell of the coarse picture in work px.
const cellPx = 4

// field is the tray's surface: where pieces are counted.
type field struct {
	cells   labImage
	mask    []bool      // a cell each: lies on the counted field
	outline []result.XY // in cells
	back    surface     // colour of the bare tray
	lit     []litApart  // parts of the tray that are lit otherwise
	bare    []bool      // cells that show bare tray
	noise   float32     // usual colour step between neighbouring cells
	cut     [4]bool     // the photo's frame truncates the field: left, top, right, bottom
}

// findField finds the tray's surface, to be settled. excluded marks cells in which nothing is counted; near marks
// cells around the ruler, which lies on the tray. given, if not nil, is the field itself, in cells. A second field is another surface, for a ruler that lies beside the tray;
// its outline is empty where there is none.
func findField(cells labImage, excluded, near []bool, given []result.XY, mmPerCell float64) (f, other field) {
	f = field{cells: cells, noise: usualStep(&cells)}
	seed, apart := seedSurface(&cells, excluded, near, f.noise)
	if given != nil {
		f.bare, f.back = surfaceFrom(&cells, seed, excluded, mmPerCell)
		f.mask, f.outline = fillOutline(given, cells.w, cells.h), given
		return f, other
	}
	if apart != nil {
		other = f
		other.grow(apart, excluded, near, mmPerCell)
	}
	f.grow(seed, excluded, near, mmPerCell)
	return f, other
}

// grow takes the field from its seed to its outline.
func (f *field) grow(seed, excluded, near []bool, mmPerCell float64) {
	f.bare, f.back = surfaceFrom(&f.cells, seed, excluded, mmPerCell)
	f.mask, f.outline = trayRegion(&f.cells, f.bare, seed, mmPerCell)
	f.joinAround(excluded, near, mmPerCell)
}

// bareWithin is how far a cell of bare tray may lie off the tray's smooth colour, L*a*b*.
const bareWithin = 5

// surfaceFrom is the surface that a seed lies on: the cells that show it, and its colour.
func surfaceFrom(m *labImage, seed, excluded []bool, mmPerCell float64) (bare []bool, back surface) {
	back = fitSurface(m, seed)
	for range 3 {
		bare = matching(m, &back, excluded, bareWithin)
		back = fitSurface(m, reachable(m, bare, seed, mmPerCell))
	}
	return bare, back
}

// settle takes out of the field what is excluded, once its outline stands.
func (f *field) settle(excluded []bool, mmPerCell float64) {
	f.cut = touchesFrame(f.mask, f.cells.w, f.cells.h)
	for i := range f.mask {
		f.mask[i] = f.mask[i] && !excluded[i]
		f.bare[i] = f.bare[i] && f.mask[i]
	}
	f.addHighlights(mmPerCell)
}

// matching marks the cells whose colour is a shade of the surface, within limit units of L*a*b*, near at least.
func matching(m *labImage, s *surface, excluded []bool, limit float32) []bool {
	unit := whitening{1, 1, 1}
	out := make([]bool, m.w*m.h)
	row := make([][3]float32, m.w)
	for y := range m.h {
		s.row(float64(y)+0.5, row)
		for x := range m.w {
			i := y*m.w + x
			if !excluded[i] {
				v := m.at(i)
				out[i] = alike(&v, &row[x], near) || unit.shaded(&v, &row[x]) < limit
			}
		}
	}
	return out
}

// seedSurface picks the smooth connected surface that most likely is the tray: colour steps between
// neighbouring cells stay small on it, it is large, central, and lies around the ruler. Where another one would be picked but for the ruler, apart is that.
func seedSurface(m *labImage, excluded, near []bool, noise float32) (seed, apart []bool) {
	var bestScore float64
	for _, step := range []float32{max(1.8, 1.5*noise), max(3, 2*noise), max(5, 3*noise)} {
		labels, n := smoothComponents(m, excluded, step)
		score, plain := make([]float64, n), make([]float64, n)
		for i, l := range labels {
			if l < 0 {
				continue
			}
			w := cellWeight(i, m)
			score[l], plain[l] = score[l]+w, plain[l]+w
			if near != nil && near[i] {
				score[l] += nearWeight
			}
		}
		k := argMax(score)
		if k < 0 {
			continue
		}
		total := float64(m.w * m.h)
		// A coarser step must earn its place: it joins what differs.
		if s := score[k]; s > 1.8*bestScore || seed == nil {
			bestScore, seed, apart = s, pick(labels, k), nil
			if p := argMax(plain); p != k {
				apart = pick(labels, p)
			}
		}
		if bestScore > 0.35*total {
			break
		}
	}
	return seed, apart
}

// usualStep is the median colour step between neighbouring cells: the noise of the photo, since most
// cells lie on one surface.
func usualStep(m *labImage) float32 {
	steps := make([]float32, 0, m.w*m.h/5+1)
	for i := 0; i+1 < m.w*m.h; i += 5 {
		if i%m.w == m.w-1 {
			continue
		}
		a, b := m.at(i), m.at(i+1)
		d0, d1, d2 := a[0]-b[0], a[1]-b[1], a[2]-b[2]
		steps = append(steps, float32(math.Sqrt(float64(d0*d0+d1*d1+d2*d2))))
	}
	if len(steps) == 0 {
		return 0
	}
	return ranked(steps, len(steps)/2)
}

// frayed is how often outlines are smoothed before they are searched for hollows, by the noise of the
// photo: not at all in daylight, up to ten times at dusk. Limits from the tuning scenes.
func frayed(noise float32) int { return int(min(max(4*(noise-3.2), 0), 10)) }

// nearWeight is what a cell around the ruler counts for more.
const nearWeight = 25

// cellWeight counts a cell for the more, the more central it is: 0.5 to 1.5.
func cellWeight(i int, m *labImage) float64 {
	u := 2*float64(i%m.w)/float64(m.w) - 1
	v := 2*float64(i/m.w)/float64(m.h) - 1
	return 1.5 - math.Min(1, math.Hypot(u, v))
}

func argMax(v []float64) int {
	best := -1
	for i, x := range v {
		if best < 0 || x > v[best] {
			best = i
		}
	}
	return best
}

func pick(labels []int32, k int) []bool {
	out := make([]bool, len(labels))
	for i, l := range labels {
		out[i] = l == int32(k)
	}
	return out
}

// smoothComponents joins neighbouring cells whose colours differ by less than step. Labels are -1
// where excluded.
func smoothComponents(m *labImage, excluded []bool, step float32) ([]int32, int) {
	part := make(cellSets, m.w*m.h)
	above := make([][3]float32, m.w)
	for y := range m.h {
		for x := range above {
			i := y*m.w + x
			part[i] = int32(i)
			c := m.at(i)
			if !excluded[i] {
				if x > 0 && !excluded[i-1] && alike(&c, &above[x-1], step) {
					part[i] = part.first(i - 1)
				}
				if y > 0 && !excluded[i-m.w] && alike(&c, &above[x], step) {
					part.join(i, i-m.w)
				}
			}
			above[x] = c
		}
	}
	return part.labels(excluded)
}

// alike reports whether two colours differ by less than step.
func alike(a, b *[3]float32, step float32) bool {
	d0, d1, d2 := a[0]-b[0], a[1]-b[1], a[2]-b[2]
	return d0*d0+d1*d1+d2*d2 < step*step
}

// cellSets are sets of cells: each cell names one of its set that comes no later, and the first of a set itself.
type cellSets []int32

// first is the first cell of the set that holds i.
func (s cellSets) first(i int) int32 {
	for s[i] != int32(i) {
		s[i] = s[s[i]]
		i = int(s[i])
	}
	return int32(i)
}

func (s cellSets) join(i, j int) {
	a, b := s.first(i), s.first(j)
	s[max(a, b)] = min(a, b)
}

// labels numbers the sets from 0, in the order of their first cells; -1 where excluded.
func (s cellSets) labels(excluded []bool) (labels []int32, n int) {
	labels = make([]int32, len(s))
	for i, before := range s {
		switch {
		case excluded[i]:
			labels[i] = -1
		case int(before) == i:
			labels[i] = int32(n)
			n++
		default:
			labels[i] = labels[before]
		}
	}
	return labels, n
}

// reachable keeps the bare cells that the tray's surface reaches across gaps of a few mm.
func reachable(m *labImage, bare, seed []bool, mmPerCell float64) []bool {
	region := closedRegion(m, bare, seed, 5/mmPerCell)
	out := make([]bool, len(bare))
	for i := range out {
		out[i] = bare[i] && region[i]
	}
	return out
}

// closedRegion closes the bare cells over gaps of 2 r cells and returns the component that holds
// most of the seed.
func closedRegion(m *labImage, bare, seed []bool, r float64) []bool {
	grown := growBy(bare, m.w, m.h, r)
	closed := shrinkBy(grown, m.w, m.h, r)
	labels, n := components(closed, m.w, m.h)
	score := make([]float64, n)
	for i, l := range labels {
		if l >= 0 && seed[i] {
			score[l]++
		}
	}
	k := argMax(score)
	if k < 0 {
		return closed
	}
	return pick(labels, k)
}

// trayRegion is the convex outline of the tray's surface with the pieces on it.
func trayRegion(m *labImage, bare, seed []bool, mmPerCell float64) ([]bool, []result.XY) {
	region := closedRegion(m, bare, seed, 8/mmPerCell)
	region = growBy(shrinkBy(region, m.w, m.h, 4/mmPerCell), m.w, m.h, 4/mmPerCell) // drop thin leaks
	hull := shape.ConvexHull(cellCorners(region, m.w, m.h))
	if len(hull) < 3 {
		all := []result.XY{{0, 0}, {float64(m.w), 0}, {float64(m.w), float64(m.h)}, {0, float64(m.h)}}
		return fillOutline(all, m.w, m.h), all
	}
	return fillOutline(hull, m.w, m.h), hull
}

// cellCorners lists the corners of the first and last cell of each row: enough for the hull.
func cellCorners(mask []bool, w, h int) []result.XY {
	var pts []result.XY
	for y := range h {
		first, last := -1, -1
		for x := range w {
			if mask[y*w+x] {
				if first < 0 {
					first = x
				}
				last = x
			}
		}
		if first >= 0 {
			for _, dy := range []float64{0, 1} {
				pts = append(pts, result.XY{float64(first), float64(y) + dy}, result.XY{float64(last + 1), float64(y) + dy})
			}
		}
	}
	return pts
}

// touchesFrame tells which sides of the photo the field reaches over more than 3 % of their length.
func touchesFrame(mask []bool, w, h int) (cut [4]bool) {
	var n [4]int
	for y := range h {
		if mask[y*w] {
			n[0]++
		}
		if mask[y*w+w-1] {
			n[2]++
		}
	}
	for x := range w {
		if mask[x] {
			n[1]++
		}
		if mask[(h-1)*w+x] {
			n[3]++
		}
	}
	for i, side := range []int{h, w, h, w} {
		cut[i] = float64(n[i]) > 0.03*float64(side)
	}
	return cut
}

// fillOutline marks the cells whose centre lies inside the outline.
func fillOutline(outline []result.XY, w, h int) []bool {
	out := make([]bool, w*h)
	eachSpan(outline, w, h, func(y, x0, x1 int) {
		for x := x0; x <= x1; x++ {
			out[y*w+x] = true
		}
	})
	return out
}
