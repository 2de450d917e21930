package scene

import "math"

// silhouette is what the photo would show of a piece with nothing over it: coverage of each pixel of a box.
type silhouette struct {
	x0, y0, w, h int
	cover        []uint8
	whole        bool // it does not reach the frame
}

// ray is the local ray of a pixel position into the piece: where it meets the piece's base, and its lean.
func (p *piece) ray(cam *camera, x, y float64) (q, lean XY) {
	at := cam.ground(x, y)
	l := cam.lean(at)
	return p.local(add(at, scale(l, p.base))), rotate(l, p.cos, -p.sin)
}

func (p *piece) seen(cam *camera, x, y float64) bool {
	q, lean := p.ray(cam, x, y)
	_, hit := p.solid.cast(q, lean)
	return hit
}

// see works out the silhouette. Pixels whose corners differ are sampled 4 × 4.
func (p *piece) see(cam *camera) *silhouette {
	lo, hi := XY{math.Inf(1), math.Inf(1)}, XY{math.Inf(-1), math.Inf(-1)}
	for _, q := range p.worldOutline() {
		for _, z := range [2]float64{p.base, p.base + p.solid.top} {
			px := cam.project(q[0], q[1], z)
			for k := range px {
				lo[k], hi[k] = math.Min(lo[k], px[k]), math.Max(hi[k], px[k])
			}
		}
	}
	s := &silhouette{whole: lo[0] > 0.5 && lo[1] > 0.5 && hi[0] < float64(cam.w)-0.5 && hi[1] < float64(cam.h)-0.5}
	s.x0, s.y0 = max(0, int(lo[0])-2), max(0, int(lo[1])-2)
	s.w, s.h = min(cam.w, int(hi[0])+3)-s.x0, min(cam.h, int(hi[1])+3)-s.y0
	if s.w <= 0 || s.h <= 0 {
		return nil
	}
	s.fill(p, cam)
	return s
}

func (s *silhouette) fill(p *piece, cam *camera) {
	if p.fine {
		s.cover = make([]uint8, s.w*s.h)
		for k := range s.cover {
			s.cover[k] = p.partial(cam, float64(s.x0+k%s.w), float64(s.y0+k/s.w))
		}
		return
	}
	corner := make([]bool, (s.w+1)*(s.h+1))
	for j := 0; j <= s.h; j++ {
		for i := 0; i <= s.w; i++ {
			corner[j*(s.w+1)+i] = p.seen(cam, float64(s.x0+i), float64(s.y0+j))
		}
	}
	s.cover = make([]uint8, s.w*s.h)
	for j := 0; j < s.h; j++ {
		for i := 0; i < s.w; i++ {
			k := j*(s.w+1) + i
			n := 0
			for _, c := range [4]bool{corner[k], corner[k+1], corner[k+s.w+1], corner[k+s.w+2]} {
				if c {
					n++
				}
			}
			switch n {
			case 0:
			case 4:
				s.cover[j*s.w+i] = 255
			default:
				s.cover[j*s.w+i] = p.partial(cam, float64(s.x0+i), float64(s.y0+j))
			}
		}
	}
}

func (p *piece) partial(cam *camera, x, y float64) uint8 {
	n := 0
	for j := 0; j < 4; j++ {
		for i := 0; i < 4; i++ {
			if p.seen(cam, x+(float64(i)+0.5)/4, y+(float64(j)+0.5)/4) {
				n++
			}
		}
	}
	return uint8(n * 255 / 16)
}

// area covered, px².
func (s *silhouette) area() float64 {
	sum := 0
	for _, c := range s.cover {
		sum += int(c)
	}
	return float64(sum) / 255
}

// centroid of the covered area, px.
func (s *silhouette) centroid() XY {
	var x, y, n float64
	for j := 0; j < s.h; j++ {
		for i := 0; i < s.w; i++ {
			c := float64(s.cover[j*s.w+i])
			x, y, n = x+c*(float64(s.x0+i)+0.5), y+c*(float64(s.y0+j)+0.5), n+c
		}
	}
	return XY{x / n, y / n}
}

// outline is the longest contour of the coverage at one half (marching squares between pixel centres), px.
func (s *silhouette) outline() []XY {
	at := func(i, j int) float64 {
		if i < 0 || j < 0 || i >= s.w || j >= s.h {
			return 0
		}
		return float64(s.cover[j*s.w+i]) / 255
	}
	next := map[[2]int]edgeEnd{}
	var starts [][2]int
	for j := -1; j < s.h; j++ {
		for i := -1; i < s.w; i++ {
			v := [4]float64{at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1)}
			for _, e := range squareEdges(v) {
				from, to := edgeKey(i, j, e[0]), edgeKey(i, j, e[1])
				next[from] = edgeEnd{to, s.edgePoint(i, j, e[0], v)}
				starts = append(starts, from)
			}
		}
	}
	return longestLoop(next, starts)
}

type edgeEnd struct {
	to [2]int
	at XY
}

// edgeKey names the side k (0 top, 1 right, 2 bottom, 3 left) of the square at i, j.
func edgeKey(i, j, k int) [2]int {
	switch k {
	case 0:
		return [2]int{2*i + 1, 2 * j}
	case 1:
		return [2]int{2*i + 2, 2*j + 1}
	case 2:
		return [2]int{2*i + 1, 2*j + 2}
	}
	return [2]int{2 * i, 2*j + 1}
}

func (s *silhouette) edgePoint(i, j, k int, v [4]float64) XY {
	a, b := v[k], v[(k+1)%4]
	t := (0.5 - a) / (b - a)
	c := [4]XY{{0, 0}, {1, 0}, {1, 1}, {0, 1}}
	p := add(c[k], scale(sub(c[(k+1)%4], c[k]), t))
	return XY{float64(s.x0+i) + 0.5 + p[0], float64(s.y0+j) + 0.5 + p[1]}
}

// squareEdges lists directed contour pieces [from side, to side] with the inside on the right.
func squareEdges(v [4]float64) [][2]int {
	in := func(k int) bool { return v[k%4] >= 0.5 }
	var from, to []int
	for k := 0; k < 4; k++ {
		switch {
		case !in(k) && in(k+1):
			from = append(from, k)
		case in(k) && !in(k+1):
			to = append(to, k)
		}
	}
	switch len(from) {
	case 0:
		return nil
	case 1:
		return [][2]int{{to[0], from[0]}}
	}
	// Saddle: each inside corner by itself.
	var out [][2]int
	for k := 0; k < 4; k++ {
		if in(k) {
			out = append(out, [2]int{k, (k + 3) % 4})
		}
	}
	return out
}

func longestLoop(next map[[2]int]edgeEnd, starts [][2]int) []XY {
	done := map[[2]int]bool{}
	var best []XY
	for _, s := range starts {
		if done[s] {
			continue
		}
		var loop []XY
		for k := s; !done[k]; {
			done[k] = true
			e, ok := next[k]
			if !ok {
				break
			}
			loop = append(loop, e.at)
			k = e.to
		}
		if len(best) == 0 || Area(loop) > Area(best) {
			best = loop
		}
	}
	return best
}

// thinned drops points that lie within tol of the chord of their neighbours (Douglas and Peucker 1973, on an open line
// cut at two far points).
func thinned(loop []XY, tol float64) []XY {
	if len(loop) < 8 {
		return loop
	}
	far := 0
	for i := range loop {
		if dist(loop[0], loop[i]) > dist(loop[0], loop[far]) {
			far = i
		}
	}
	a := simplify(loop[:far+1], tol)
	b := simplify(append(append([]XY(nil), loop[far:]...), loop[0]), tol)
	return append(a[:len(a)-1], b[:len(b)-1]...)
}

func simplify(line []XY, tol float64) []XY {
	worst, at := 0.0, 0
	for i := 1; i < len(line)-1; i++ {
		if d := segmentDistance(line[i], line[0], line[len(line)-1]); d > worst {
			worst, at = d, i
		}
	}
	if worst <= tol {
		return []XY{line[0], line[len(line)-1]}
	}
	a := simplify(line[:at+1], tol)
	return append(a[:len(a)-1:len(a)-1], simplify(line[at:], tol)...)
}
