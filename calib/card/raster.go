package card

import (
	"image"
	"image/color"
	"math"

	"golang.org/x/image/vector"
)

// mmPerInch converts dots per inch.
const mmPerInch = 25.4

// Raster draws the sheet edge to edge at dpi dots per inch: px / dpi * 25.4 is its size in mm, to
// half a pixel. Edges are antialiased by area, mixed in linear light, as a lens would mix them.
// It panics when dpi is not positive.
func (s Sheet) Raster(dpi float64) *image.NRGBA {
	if !(dpi > 0) {
		panic("card: Raster needs a positive dpi")
	}
	scale := dpi / mmPerInch
	w, h := int(math.Round(s.WidthMM*scale)), int(math.Round(s.HeightMM*scale))
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	for _, shape := range s.Shapes() {
		fill(img, shape, scale)
	}
	return img
}

// fill paints one shape, scale px per mm.
func fill(img *image.NRGBA, s Shape, scale float64) {
	box := bounds(s.Path, scale).Intersect(img.Bounds())
	if box.Empty() {
		return
	}
	z := vector.NewRasterizer(box.Dx(), box.Dy())
	at := func(x, y float64) (float32, float32) {
		return float32(x*scale - float64(box.Min.X)), float32(y*scale - float64(box.Min.Y))
	}
	for i, g := range s.Path {
		x, y := at(g.X, g.Y)
		switch g.Op {
		case Move:
			if i > 0 {
				z.ClosePath()
			}
			z.MoveTo(x, y)
		case Line:
			z.LineTo(x, y)
		case Quad:
			cx, cy := at(g.CX, g.CY)
			z.QuadTo(cx, cy, x, y)
		}
	}
	z.ClosePath()
	mask := image.NewAlpha(image.Rect(0, 0, box.Dx(), box.Dy()))
	z.Draw(mask, mask.Bounds(), image.Opaque, image.Point{})
	for y := range box.Dy() {
		for x := range box.Dx() {
			if a := mask.Pix[y*mask.Stride+x]; a != 0 {
				mix(img.Pix[img.PixOffset(box.Min.X+x, box.Min.Y+y):], s.Fill, a)
			}
		}
	}
}

// bounds is the pixel box that holds the path.
func bounds(path []Segment, scale float64) image.Rectangle {
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	grow := func(x, y float64) {
		x0, y0, x1, y1 = min(x0, x), min(y0, y), max(x1, x), max(y1, y)
	}
	for _, s := range path {
		grow(s.X, s.Y)
		if s.Op == Quad {
			grow(s.CX, s.CY)
		}
	}
	if len(path) == 0 {
		return image.Rectangle{}
	}
	return image.Rect(int(math.Floor(x0*scale)), int(math.Floor(y0*scale)), int(math.Ceil(x1*scale)), int(math.Ceil(y1*scale)))
}

// mix lays ink of coverage a over one pixel, in linear light.
func mix(px []uint8, ink color.NRGBA, a uint8) {
	px[3] = 255
	if a == 255 {
		px[0], px[1], px[2] = ink.R, ink.G, ink.B
		return
	}
	t := float64(a) / 255
	px[0], px[1], px[2] = blend(px[0], ink.R, t), blend(px[1], ink.G, t), blend(px[2], ink.B, t)
}

func blend(under, over uint8, t float64) uint8 {
	return encode(linear[under]*(1-t) + linear[over]*t)
}

// linear is the sRGB transfer curve of IEC 61966-2-1, 8 bit to light.
var linear = func() (t [256]float64) {
	for i := range t {
		v := float64(i) / 255
		if v <= 0.04045 {
			t[i] = v / 12.92
		} else {
			t[i] = math.Pow((v+0.055)/1.055, 2.4)
		}
	}
	return t
}()

func encode(v float64) uint8 {
	if v <= 0.0031308 {
		return uint8(math.Round(255 * 12.92 * v))
	}
	return uint8(math.Round(255 * (1.055*math.Pow(v, 1/2.4) - 0.055)))
}
