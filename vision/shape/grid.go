package shape

import (
	"math"
	"sync"
)

// frame turns outline coordinates into cells: rotated so that the piece lies along x.
type frame struct {
	cos, sin, cell float64
	origin         XY // of the cells' coordinates, outside
}

func (f frame) to(p XY) XY {
	d := sub(p, f.origin)
	return XY{(d[0]*f.cos + d[1]*f.sin) / f.cell, (d[1]*f.cos - d[0]*f.sin) / f.cell}
}

func (f frame) back(p XY) XY {
	return XY{f.origin[0] + f.cell*(p[0]*f.cos-p[1]*f.sin), f.origin[1] + f.cell*(p[0]*f.sin+p[1]*f.cos)}
}

// grid is a piece drawn in cells, with a border of empty ones.
type grid struct {
	frame
	outline []XY // in cells
	w, h    int
	depth   []int32 // distance from the edge, 3 a cell; 0 outside
	in      []uint8 // 1 where the piece still is
	way     []int32 // distance within the piece
	cells   []int32 // the piece's cells
	ring    [8]int32
	queue   [5][]int32
}

const (
	cellsAcross = 7.0
	maxCells    = 60000
)

var grids = sync.Pool{New: func() any { return new(grid) }}

func (g *grid) release() { grids.Put(g) }

// newGrid draws the outline, of the given thickness and box, in cells.
func newGrid(outline []XY, box Rect, thick float64) *grid {
	g := grids.Get().(*grid)
	s, co := math.Sincos(box.Angle)
	g.frame = frame{co, s, 1, box.Centre}
	g.outline = g.outline[:0]
	for _, p := range outline {
		g.outline = append(g.outline, g.to(p))
	}
	lo, hi := Bounds(g.outline)
	l, w := hi[0]-lo[0], hi[1]-lo[1]
	c := max(thick/cellsAcross, math.Sqrt(l*w/maxCells), max(l, w)/(maxCells/16))
	for i, p := range g.outline {
		g.outline[i] = XY{(p[0]-lo[0])/c + 2, (p[1]-lo[1])/c + 2}
	}
	g.frame.origin = g.frame.back(sub(lo, XY{2 * c, 2 * c}))
	g.frame.cell = c
	g.w, g.h = int(l/c)+5, int(w/c)+5
	row := int32(g.w)
	g.ring = [8]int32{1, 1 - row, -row, -1 - row, -1, row - 1, row, row + 1}
	n := g.w * g.h
	g.in, g.depth, g.way = zeroed(g.in, n), zeroed(g.depth, n), zeroed(g.way, n)
	g.fill()
	g.trace()
	g.measureDepth()
	return g
}

func zeroed[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	s = s[:n]
	clear(s)
	return s
}

// fill marks the cells whose centres lie inside, by the even-odd rule.
func (g *grid) fill() {
	n := len(g.outline)
	a := g.outline[n-1]
	for _, b := range g.outline {
		p, q := a, b
		if p[1] > q[1] {
			p, q = q, p
		}
		slope := (q[0] - p[0]) / (q[1] - p[1])
		for y := math.Ceil(p[1] - 0.5); y+0.5 < q[1]; y++ {
			x := int(math.Ceil(p[0] + (y+0.5-p[1])*slope - 0.5))
			g.in[int(y)*g.w+min(max(x, 1), g.w-1)] ^= 1
		}
		a = b
	}
	for y := range g.h {
		row, v := g.in[y*g.w:(y+1)*g.w], uint8(0)
		for x := range row {
			v ^= row[x]
			row[x] = v
		}
		row[len(row)-1] = 0
	}
}

// trace marks the cells that the outline itself passes through, so that the thinnest neck holds together.
func (g *grid) trace() {
	n := len(g.outline)
	a := g.outline[n-1]
	for _, b := range g.outline {
		steps := math.Ceil(2 * max(math.Abs(b[0]-a[0]), math.Abs(b[1]-a[1])))
		for k := range int(steps) {
			p := lerp(a, b, float64(k)/steps)
			g.in[g.at(p)] = 1
		}
		a = b
	}
}

// at is the cell that holds p, within the border.
func (g *grid) at(p XY) int32 {
	x, y := min(max(int(p[0]), 1), g.w-2), min(max(int(p[1]), 1), g.h-2)
	return int32(y*g.w + x)
}

func (g *grid) centre(i int32) XY {
	return XY{float64(int(i)%g.w) + 0.5, float64(int(i)/g.w) + 0.5}
}

// measureDepth is a chamfer distance transform with steps 3 and 4 (Borgefors 1986, Comput. Vis. Graph.
// Image Process. 34:344); it also lists the piece's cells.
func (g *grid) measureDepth() {
	d, w := g.depth, g.w
	g.cells = g.cells[:0]
	for i := w + 1; i < len(d)-w-1; i++ {
		if g.in[i] != 0 {
			d[i] = min(d[i-1]+3, d[i-w]+3, d[i-w-1]+4, d[i-w+1]+4)
			g.cells = append(g.cells, int32(i))
		}
	}
	for k := len(g.cells) - 1; k >= 0; k-- {
		i := int(g.cells[k])
		d[i] = min(d[i], d[i+1]+3, d[i+w]+3, d[i+w+1]+4, d[i+w-1]+4)
	}
}

// area is the outline's area in cells.
func (g *grid) area() float64 { return math.Abs(Area(g.outline)) }

// sweep measures the way within the piece from a cell, steps 3 and 4, and gives the farthest cell.
func (g *grid) sweep(from int32) int32 {
	for _, i := range g.cells {
		g.way[i] = math.MaxInt32
	}
	for k := range g.queue {
		g.queue[k] = g.queue[k][:0]
	}
	g.way[from] = 0
	g.queue[0] = append(g.queue[0], from)
	last, waiting := from, 1
	for d := int32(0); waiting > 0; d++ {
		q := &g.queue[d%5]
		for _, i := range *q {
			if g.way[i] == d {
				last = i
				waiting += g.spread(i, d)
			}
		}
		waiting -= len(*q)
		*q = (*q)[:0]
	}
	return last
}

// spread hands the way on to a cell's neighbours.
func (g *grid) spread(i, d int32) (added int) {
	for k, step := range g.ring {
		j, to := i+step, d+3+int32(k&1)
		if g.in[j] != 0 && g.way[j] > to {
			g.way[j] = to
			g.queue[to%5] = append(g.queue[to%5], j)
			added++
		}
	}
	return added
}
