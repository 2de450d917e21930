package rulers

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// pattern is what photos without a ruler show under the chop.
type pattern struct {
	name string
	// Whether it holds what a kind of ruler is made of: a square lattice of lines, even ticks, rectangles.
	lattice, ticks, rectangles bool
	draw                       func(r draws) surface
}

var patterns = []pattern{
	{"plain", false, false, false, func(r draws) surface { return r.tray() }},
	{"tiles", true, false, true, func(r draws) surface {
		return lines(r, r.between(15, 60), r.between(1, 4), true, true)
	}},
	{"mesh", true, false, true, func(r draws) surface { return lines(r, r.between(3, 8), r.between(0.6, 2), true, true) }},
	{"planks", false, false, false, func(r draws) surface { return lines(r, r.between(40, 110), r.between(1, 4), true, false) }},
	{"stripes", false, false, false, func(r draws) surface { return lines(r, r.between(3, 12), r.between(1, 2), true, false) }},
	{"bricks", true, false, true, bricks},
	{"checkerboard", true, false, true, checkerboard},
	{"uneven lines", false, false, true, func(r draws) surface { return uneven(r, 2) }},
	{"bar code", false, false, false, func(r draws) surface { return uneven(r, 1) }},
	{"text", false, false, false, text},
	{"gravel", false, false, false, gravel},
	// The rims themselves are even lines, each so many cells: a lattice, which asking for a grid finds.
	{"rimmed squares", true, false, true, func(r draws) surface { return squares(r, true) }},
	{"random squares", false, false, true, func(r draws) surface { return squares(r, false) }},
}

func (r draws) twoTones() (a, b tint) {
	x, y := r.between(20, 110), r.between(140, 240)
	if r.chance(0.5) {
		x, y = y, x
	}
	return grey(x), grey(y)
}

// lines is one family of even lines or two.
func lines(r draws, pitch, wide float64, across, along bool) surface {
	base, line := r.twoTones()
	on := func(x float64) bool { return math.Abs(x-pitch*math.Round(x/pitch)) < wide/2 }
	return func(q XY) (tint, bool) {
		if across && on(q[0]) || along && on(q[1]) {
			return line, true
		}
		return base, true
	}
}

func bricks(r draws) surface {
	base, joint := r.twoTones()
	w, h, wide := r.between(30, 70), r.between(15, 35), r.between(1, 3)
	return func(q XY) (tint, bool) {
		row := math.Floor(q[1] / h)
		x := math.Mod(math.Mod(q[0]+w/2*row, w)+w, w)
		if y := q[1] - h*row; y < wide || x < wide {
			return joint, true
		}
		return base, true
	}
}

func checkerboard(r draws) surface {
	a, b := r.twoTones()
	side := r.between(5, 40)
	return func(q XY) (tint, bool) {
		if int(math.Floor(q[0]/side)+math.Floor(q[1]/side))&1 == 0 {
			return a, true
		}
		return b, true
	}
}

// uneven is lines at random distances, in one direction or in two.
func uneven(r draws, families int) surface {
	base, ink := r.twoTones()
	var at [2][]float64
	for k := range families {
		for x := -300.0; x < 300; x += r.between(2, 30) {
			at[k] = append(at[k], x)
		}
	}
	wide := r.between(0.4, 1.6)
	return func(q XY) (tint, bool) {
		for k := range families {
			if near(at[k], q[k]) < wide/2 {
				return ink, true
			}
		}
		return base, true
	}
}

// near is the distance to the nearest of sorted values.
func near(sorted []float64, x float64) float64 {
	lo, hi := 0, len(sorted)
	for lo < hi {
		if mid := (lo + hi) / 2; sorted[mid] < x {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	d := math.Inf(1)
	if lo < len(sorted) {
		d = sorted[lo] - x
	}
	if lo > 0 {
		d = min(d, x-sorted[lo-1])
	}
	return d
}

// cellLight is the light of a cell drawn at random.
func cellLight(seed uint64, x, y float64) float64 {
	h := seed ^ uint64(int64(x))*0x9e3779b97f4a7c15 ^ uint64(int64(y))*0xc2b2ae3d27d4eb4f
	h ^= h >> 29
	h *= 0xbf58476d1ce4e5b9
	h ^= h >> 32
	return float64(h>>40) / (1 << 24)
}

func gravel(r draws) surface {
	seed, side := r.Uint64(), r.between(3, 9)
	return func(q XY) (tint, bool) {
		x, y := math.Floor(q[0]/side), math.Floor(q[1]/side)
		u, v := q[0]/side-x-0.5, q[1]/side-y-0.5
		size := 0.2 + 0.3*cellLight(seed+1, x, y)
		if u*u+v*v < size*size {
			return grey(60 + 140*cellLight(seed, x, y)), true
		}
		return grey(50), true
	}
}

// squares are black and white cells at random, in blocks within a rim as codes have them or all over.
func squares(r draws, rimmed bool) surface {
	seed, side := r.Uint64(), r.between(1.5, 5)
	n := float64(6 + r.IntN(20))
	return func(q XY) (tint, bool) {
		x, y := math.Floor(q[0]/side), math.Floor(q[1]/side)
		bx, by := math.Floor(x/n), math.Floor(y/n)
		if u, v := x-bx*n, y-by*n; rimmed && (u < 2 || v < 2) {
			return grey(230), true
		} else if rimmed && (u == 2 || v == 2) {
			return grey(20), true
		}
		if cellLight(seed, x, y) < 0.5 {
			return grey(20), true
		}
		return grey(230), true
	}
}

// text is a page of print that fills the photo.
func text(r draws) surface {
	const dpmm = 6
	img := image.NewGray(image.Rect(0, 0, 320*dpmm, 320*dpmm))
	for i := range img.Pix {
		img.Pix[i] = 235
	}
	parsed, err := opentype.Parse(goregular.TTF)
	if err != nil {
		panic(err) // the font is a part of the program
	}
	size := r.between(2.5, 6) * dpmm
	face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: size, DPI: 72})
	if err != nil {
		panic(err)
	}
	d := font.Drawer{Dst: img, Src: image.NewUniform(color.Gray{30}), Face: face}
	for y := size; y < 320*dpmm; y += 1.3 * size {
		d.Dot = fixed.P(0, int(y))
		for d.Dot.X.Floor() < 320*dpmm {
			d.DrawString(word(r.Rand) + " ")
		}
	}
	return func(q XY) (tint, bool) {
		x, y := int((q[0]+160)*dpmm), int((q[1]+160)*dpmm)
		if x < 0 || y < 0 || x >= 320*dpmm || y >= 320*dpmm {
			return grey(235), true
		}
		v := stored[img.Pix[y*img.Stride+x]]
		return tint{v, v, v}, true
	}
}

func word(r *rand.Rand) string {
	b := make([]byte, 1+r.IntN(9))
	for i := range b {
		b[i] = byte('a' + r.IntN(26))
	}
	return string(b)
}
