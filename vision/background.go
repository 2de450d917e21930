package vision

import (
	"math"

	"gristmark/internal/result"
)

// background is the colour of the bare tray at every cell, and how much it varies.
type background struct {
	w, h  int
	color [][3]float32 // a cell each
	white whitening    // for colours of the work image
}

// modelBackground refines the field's smooth surface by what the bare cells around each place show:
// soft shadows, plank grain, uneven light. reach is in cells.
func modelBackground(f *field, reach int) background {
	w, h := f.cells.w, f.cells.h
	n := w * h
	solid := shrinkBy(f.bare, w, h, 1.2)
	var rest [4][]float32 // residual by channel, and weight
	for c := range rest {
		rest[c] = make([]float32, n)
	}
	base := make([][3]float32, n)
	for i := range n {
		if i%w == 0 {
			f.row(i/w, base[i:i+w])
		}
		if !solid[i] {
			continue
		}
		v := f.cells.at(i)
		for c := range 3 {
			rest[c][i] = v[c] - base[i][c]
		}
		rest[3][i] = 1
	}
	for c := range rest {
		for range 2 {
			boxBlur(rest[c], w, h, reach)
		}
	}
	const prior = 0.02 // of the weight pulls towards the smooth surface
	for i := range n {
		for c := range 3 {
			base[i][c] += rest[c][i] / (rest[3][i] + prior)
		}
		base[i][0] = max(base[i][0], 16)
	}
	return background{w: w, h: h, color: base, white: whitening{1, 1, 1}}
}

// boxBlur averages over (2r+1)² cells in place; beyond the border counts as 0, in the weight too.
func boxBlur(v []float32, w, h, r int) {
	line := make([]float32, max(w, h))
	blur := func(start, stride, n int) {
		var sum float32
		for k := 0; k < min(r, n); k++ {
			sum += v[start+k*stride]
		}
		for k := range n {
			if k+r < n {
				sum += v[start+(k+r)*stride]
			}
			if k-r-1 >= 0 {
				sum -= v[start+(k-r-1)*stride]
			}
			line[k] = sum
		}
		inv := 1 / float32(2*r+1)
		for k := range n {
			v[start+k*stride] = line[k] * inv
		}
	}
	for y := range h {
		blur(y*w, 1, w)
	}
	for x := range w {
		blur(x, w, h)
	}
}

// at interpolates the bare colour at a position in cells.
func (b *background) at(x, y float64) (c [3]float32) {
	x = math.Min(math.Max(x-0.5, 0), float64(b.w-1))
	y = math.Min(math.Max(y-0.5, 0), float64(b.h-1))
	x0, y0 := int(x), int(y)
	x1, y1 := min(x0+1, b.w-1), min(y0+1, b.h-1)
	fx, fy := float32(x-float64(x0)), float32(y-float64(y0))
	p, q := &b.color[y0*b.w+x0], &b.color[y0*b.w+x1]
	r, s := &b.color[y1*b.w+x0], &b.color[y1*b.w+x1]
	for k := range c {
		top := p[k] + fx*(q[k]-p[k])
		low := r[k] + fx*(s[k]-r[k])
		c[k] = top + fy*(low-top)
	}
	return c
}

// measureNoise sets the whitening from the spread of the work image about the model on bare cells:
// 1.4826 times the median absolute deviation, not below noiseFloor.
func (b *background) measureNoise(wk *work, f *field) {
	solid := shrinkBy(f.bare, b.w, b.h, 2.2)
	var dev [3][]float64
	for k := range dev {
		dev[k] = make([]float64, 0, len(solid)/7+1)
	}
	for i, ok := range solid {
		if !ok || i%7 != 0 {
			continue
		}
		x, y := (i%b.w)*cellPx+1, (i/b.w)*cellPx+2
		v := wk.lab.at(y*wk.lab.w + x)
		c := b.at(float64(i%b.w)+1.5/cellPx, float64(i/b.w)+2.5/cellPx)
		for k := range v {
			dev[k] = append(dev[k], math.Abs(float64(v[k]-c[k])))
		}
	}
	for k := range dev {
		sd := noiseFloor[k]
		if len(dev[k]) > 20 {
			sd = math.Max(sd, 1.4826*ranked(dev[k], len(dev[k])/2))
		}
		b.white[k] = float32(1 / sd)
	}
}

// contrastScale packs distances into bytes: 6 steps a standard deviation, at most 42.
const contrastScale = 6

// tileCells is the side of the tiles, in cells, that share their shades.
const tileCells = 4

// tileShades computes the shades of tiles when they are first asked for.
type tileShades struct {
	back  *background
	w     int
	known []bool
	of    []shadeLine
}

func newTileShades(b *background) *tileShades {
	w, h := b.w/tileCells+1, b.h/tileCells+1
	return &tileShades{b, w, make([]bool, w*h), make([]shadeLine, w*h)}
}

func (t *tileShades) at(cx, cy int) *shades { return &t.lineAt(cx, cy).shades }

// lineAt is the line through the shades of a cell's tile.
func (t *tileShades) lineAt(cx, cy int) *shadeLine {
	tx, ty := cx/tileCells, cy/tileCells
	i := ty*t.w + tx
	if !t.known[i] {
		t.known[i] = true
		t.of[i] = lineThrough(shadesOf(t.back.at((float64(tx)+0.5)*tileCells, (float64(ty)+0.5)*tileCells)), &t.back.white)
	}
	return &t.of[i]
}

// contrast is each work pixel's distance from the background and its shades, times contrastScale;
// 0 off the field.
func (b *background) contrast(wk *work, f *field, tiles *tileShades) []uint8 {
	w, h := wk.lab.w, wk.lab.h
	out := make([]uint8, w*h)
	row, across := make([][3]float32, b.w), lerpColumns(w, b.w)
	w0, w1, w2 := b.white[0], b.white[1], b.white[2]
	for y := range h {
		lab, line := wk.lab.pix[3*y*w:3*(y+1)*w], out[y*w:(y+1)*w]
		b.rowAt((float64(y)+0.5)/cellPx, row)
		cy := min(y/cellPx, b.h-1)
		for cx, in := range f.mask[cy*b.w : (cy+1)*b.w] {
			if !in {
				continue
			}
			end := (cx + 1) * cellPx
			if cx == b.w-1 {
				end = w
			}
			for x := cx * cellPx; x < end; x++ {
				// As whitening.plain of the row in between, written out: most of the photo is bare tray.
				p, at := lab[3*x:3*x+3:3*x+3], &across[x]
				l, r := &row[at.a], &row[at.b]
				v0, v1, v2 := lPlus16[p[0]], float32(p[1])-128, float32(p[2])-128
				p0 := (v0 - (l[0] + at.f*(r[0]-l[0]))) * w0
				p1 := (v1 - (l[1] + at.f*(r[1]-l[1]))) * w1
				p2 := (v2 - (l[2] + at.f*(r[2]-l[2]))) * w2
				d := p0*p0 + p1*p1 + p2*p2
				if d < near*near {
					line[x] = uint8(d * (1 / near) * contrastScale)
					continue
				}
				d = float32(math.Sqrt(float64(d)))
				d = min(d, tiles.lineAt(cx, cy).distance([3]float32{v0, v1, v2}, &b.white))
				line[x] = uint8(min(255, d*contrastScale))
			}
		}
	}
	return out
}

// rowAt interpolates the model at height y, in cells, for each column of cells.
func (b *background) rowAt(y float64, row [][3]float32) {
	y = math.Min(math.Max(y-0.5, 0), float64(b.h-1))
	y0 := int(y)
	y1 := min(y0+1, b.h-1)
	f := float32(y - float64(y0))
	for x := range row {
		p, q := &b.color[y0*b.w+x], &b.color[y1*b.w+x]
		for k := range 3 {
			row[x][k] = p[k] + f*(q[k]-p[k])
		}
	}
}

// lerpColumn is where a work column lies among the columns of cells: between a and b, f of the way.
type lerpColumn struct {
	a, b int32
	f    float32
}

// lerpColumns are those of w work columns among n columns of cells.
func lerpColumns(w, n int) []lerpColumn {
	out := make([]lerpColumn, w)
	for x := range out {
		pos := (float32(x)+0.5)/cellPx - 0.5
		pos = min(max(pos, 0), float32(n-1))
		a := int(pos)
		out[x] = lerpColumn{int32(a), int32(min(a+1, n-1)), pos - float32(a)}
	}
	return out
}

// toCells scales a polygon of photo px to cells.
func (wk *work) toCells(poly []result.XY) []result.XY {
	out := make([]result.XY, len(poly))
	for i, p := range poly {
		out[i] = result.XY{p[0] / wk.sx / cellPx, p[1] / wk.sy / cellPx}
	}
	return out
}
