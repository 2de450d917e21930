package vision

import (
	"math"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// Limits of parting by what the network sees between pieces that touch.
const (
	seamAt      = 0.30 // probability of contact from which a pixel is no one's core
	seamMean    = 0.40 // mean along a seam that parts two pieces
	leastCoreMM = 0.7  // side of a square as large as the least core
)

// seams parts a piece along the contacts that the network sees in it, whatever its outline: the
// pixels free of contact fall into cores, the rest goes to the nearest core, and two cores are one
// piece where the seam between them is weak.
func (s *splitter) seams(p part) []part {
	if s.contact == nil || !s.touches(p.outline) {
		return nil
	}
	g := s.local(p.outline)
	n := g.cores(int(math.Max(6, leastCoreMM*leastCoreMM*s.pxPerMM*s.pxPerMM)))
	if n < 2 {
		return nil
	}
	g.spread()
	n = g.joinWeak(n)
	if n < 2 {
		return nil
	}
	return wholeLooking(p, g.outlines(n, s.minArea, p))
}

// A piece without hollows that would lose only a small part keeps it: it is a patch of the piece, a
// germ or a dark eye, not another piece.
const (
	plainSeamed = 0.955 // solidity
	smallPatch  = 0.3   // of the area
)

func wholeLooking(p part, parts []part) []part {
	all := abs(shape.Area(p.outline))
	if shape.Solidity(p.outline) < plainSeamed {
		return parts
	}
	for _, q := range parts {
		if abs(shape.Area(q.outline)) < smallPatch*all {
			return nil
		}
	}
	return parts
}

// seamGrid is a piece's bounding box in work px.
type seamGrid struct {
	x0, y0, w, h int
	in           []bool
	contact      []float32
	label        []int32 // core, from 0; -1 none yet
}

func (s *splitter) local(o []result.XY) *seamGrid {
	lo, hi := shape.Bounds(o)
	g := &seamGrid{x0: max(0, int(lo[0])-1), y0: max(0, int(lo[1])-1)}
	g.w, g.h = min(s.w, int(hi[0])+2)-g.x0, min(s.h, int(hi[1])+2)-g.y0
	n := g.w * g.h
	g.in, g.contact, g.label = make([]bool, n), make([]float32, n), make([]int32, n)
	across := s.contact.columns(s.w)
	eachSpan(o, s.w, s.h, func(y, a, b int) {
		row := s.contact.row(y)
		for x := a; x <= b; x++ {
			if i := (y-g.y0)*g.w + x - g.x0; s.depth[y*s.w+x] > 0 {
				g.in[i], g.contact[i] = true, s.contact.lerp(s.contact.part, &across[x], &row)
			}
		}
	})
	for i := range g.label {
		g.label[i] = -1
	}
	return g
}

// fewTouching pixels of contact make no seam.
const fewTouching = 3

// touches tells whether contact that may be a seam is seen inside the outline.
func (s *splitter) touches(o []result.XY) bool {
	across := s.contact.columns(s.w)
	n := 0
	eachSpan(o, s.w, s.h, func(y, a, b int) {
		row := s.contact.row(y)
		for x := a; x <= b && n < fewTouching; x++ {
			if s.depth[y*s.w+x] > 0 && s.contact.lerp(s.contact.part, &across[x], &row) > seamMean {
				n++
			}
		}
	})
	return n >= fewTouching
}

// cores labels the components free of contact that have at least least pixels, and counts them.
func (g *seamGrid) cores(least int) int {
	n := int32(0)
	seen := make([]bool, len(g.in))
	for i := range g.in {
		if !g.in[i] || seen[i] || g.contact[i] > seamAt {
			continue
		}
		core := g.flood(i, seen)
		if len(core) < least {
			continue
		}
		for _, j := range core {
			g.label[j] = n
		}
		n++
	}
	return int(n)
}

func (g *seamGrid) flood(i int, seen []bool) []int {
	core := []int{i}
	seen[i] = true
	for k := 0; k < len(core); k++ {
		for _, j := range g.around(core[k]) {
			if j >= 0 && g.in[j] && !seen[j] && g.contact[j] <= seamAt {
				seen[j] = true
				core = append(core, j)
			}
		}
	}
	return core
}

// around are the four neighbours; -1 beyond the box.
func (g *seamGrid) around(i int) [4]int {
	out := [4]int{i - 1, i + 1, i - g.w, i + g.w}
	if i%g.w == 0 {
		out[0] = -1
	}
	if i%g.w == g.w-1 {
		out[1] = -1
	}
	if i < g.w {
		out[2] = -1
	}
	if i >= len(g.in)-g.w {
		out[3] = -1
	}
	return out
}

// spread gives every pixel to the core that reaches it first.
func (g *seamGrid) spread() {
	var front []int
	for i, l := range g.label {
		if l >= 0 {
			front = append(front, i)
		}
	}
	for k := 0; k < len(front); k++ {
		for _, j := range g.around(front[k]) {
			if j >= 0 && g.in[j] && g.label[j] < 0 {
				g.label[j] = g.label[front[k]]
				front = append(front, j)
			}
		}
	}
}

// joinWeak unites cores whose common seam is weak and returns how many are left.
func (g *seamGrid) joinWeak(n int) int {
	type seam struct{ sum, count float64 }
	seams := map[[2]int32]*seam{}
	for i, l := range g.label {
		if l < 0 {
			continue
		}
		for _, j := range g.around(i) {
			if j < 0 || g.label[j] < 0 || g.label[j] == l {
				continue
			}
			key := [2]int32{min(l, g.label[j]), max(l, g.label[j])}
			if seams[key] == nil {
				seams[key] = &seam{}
			}
			seams[key].sum += float64(g.contact[i])
			seams[key].count++
		}
	}
	to := make([]int32, n)
	for k := range to {
		to[k] = int32(k)
	}
	for key, s := range seams {
		if s.sum/s.count < seamMean {
			a, b := to[key[0]], to[key[1]]
			for k := range to {
				if to[k] == max(a, b) {
					to[k] = min(a, b)
				}
			}
		}
	}
	name, left := map[int32]int32{}, int32(0)
	for k := range to {
		if _, ok := name[to[k]]; !ok {
			name[to[k]] = left
			left++
		}
	}
	for i, l := range g.label {
		if l >= 0 {
			g.label[i] = name[to[l]]
		}
	}
	return int(left)
}

// outlines traces the labels; nil where one is too small to be a piece. Points on a seam, or that
// lie on a cut of p already, are joints.
func (g *seamGrid) outlines(n int, minArea float64, p part) []part {
	old := newNearJoints(p)
	out := make([]part, 0, n)
	for k := range n {
		start := -1
		for i, l := range g.label {
			if l == int32(k) {
				start = i
				break
			}
		}
		if start < 0 {
			return nil
		}
		var q part
		for _, m := range traceCracks(g.label, g.w, g.h, start) {
			joint := g.onSeam(m)
			m[0], m[1] = m[0]+float64(g.x0), m[1]+float64(g.y0)
			q.outline, q.joint = append(q.outline, m), append(q.joint, joint || old.has(m))
		}
		if math.Abs(shape.Area(q.outline)) < minArea {
			return nil
		}
		out = append(out, q)
	}
	return out
}

// onSeam tells whether both pixels that share the edge with the given midpoint belong to pieces.
func (g *seamGrid) onSeam(m result.XY) bool {
	x, y := int(math.Floor(m[0])), int(math.Floor(m[1]))
	a := y*g.w + x
	b := a - g.w
	if m[0] == math.Floor(m[0]) {
		b = a - 1
	}
	in := func(i int) bool { return i >= 0 && i < len(g.label) && g.label[i] >= 0 }
	return in(a) && in(b)
}

// nearJoints remembers which work px lie on cuts.
type nearJoints map[[2]int]bool

func newNearJoints(p part) nearJoints {
	m := nearJoints{}
	for i, j := range p.joint {
		if j {
			m[[2]int{int(p.outline[i][0]), int(p.outline[i][1])}] = true
		}
	}
	return m
}

func (m nearJoints) has(p result.XY) bool {
	if len(m) == 0 {
		return false
	}
	for dy := -1; dy <= 1; dy++ {
		for dx := -1; dx <= 1; dx++ {
			if m[[2]int{int(p[0]) + dx, int(p[1]) + dy}] {
				return true
			}
		}
	}
	return false
}
