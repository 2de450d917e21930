package rulers

import (
	"bytes"
	"image"
	"image/jpeg"
	"math"
	"math/rand/v2"
)

// tint is light, 0..1 in each of red, green and blue.
type tint [3]float32

func (t tint) times(f float32) tint { return tint{t[0] * f, t[1] * f, t[2] * f} }

// grey of a level as stored, 0..255.
func grey(level float64) tint { v := float32(toLight(level)); return tint{v, v, v} }

// rgb of levels as stored, 0..255.
func rgb(r, g, b float64) tint {
	return tint{float32(toLight(r)), float32(toLight(g)), float32(toLight(b))}
}

// surface tells what lies at a point of the tray; ok is false where there is nothing.
type surface func(mm XY) (t tint, ok bool)

// picture is a photo to be drawn.
type picture struct {
	cam      camera
	layers   []surface // the lowest first
	blur     float64   // px
	noise    float64   // grey levels
	quality  int       // of the JPEG
	vignette float64   // loss of light in the corners
	slope    XY        // light lost across the photo, along x and y
	seed     uint64
}

// jpeg draws the photo: a ray at each pixel's middle and at its corners, sixteen where they differ; blur in light,
// noise in grey levels.
func (p *picture) jpeg() ([]byte, error) {
	w, h := p.cam.w, p.cam.h
	lin := make([]float32, 3*w*h)
	above, below := make([]corner, w+1), make([]corner, w+1)
	p.row(0, below)
	for y := range h {
		above, below = below, above
		p.row(y+1, below)
		for x := range w {
			t := p.pixel(above[x], above[x+1], below[x], below[x+1]).times(p.shade(x, y))
			copy(lin[3*(y*w+x):], t[:])
		}
	}
	lin = smooth(lin, w, h, p.blur)
	r := rand.New(rand.NewPCG(p.seed, 7))
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	for i := range w * h {
		for c := range 3 {
			img.Pix[4*i+c] = uint8(max(0, min(255, math.Round(toLevel(lin[3*i+c])+p.noise*r.NormFloat64()))))
		}
		img.Pix[4*i+3] = 255
	}
	var b bytes.Buffer
	err := jpeg.Encode(&b, img, &jpeg.Options{Quality: p.quality})
	return b.Bytes(), err
}

// corner of a pixel: where it lies on the tray, and what is there.
type corner struct {
	mm    XY
	light tint
}

// row is a row of corners.
func (p *picture) row(y int, to []corner) {
	for x := range to {
		mm := p.cam.ground(XY{float64(x), float64(y)})
		to[x] = corner{mm, p.at(mm)}
	}
}

// pixel is the mean light between four corners.
func (p *picture) pixel(a, b, c, d corner) tint {
	right := XY{b.mm[0] - a.mm[0], b.mm[1] - a.mm[1]}
	down := XY{c.mm[0] - a.mm[0], c.mm[1] - a.mm[1]}
	if a.light == b.light && a.light == c.light && a.light == d.light && a.light == p.at(inCell(a.mm, right, down, 0, 1)) {
		return a.light
	}
	var sum tint
	const n = 4
	for k := range n * n {
		t := p.at(inCell(a.mm, right, down, k, n))
		for c := range sum {
			sum[c] += t[c] / (n * n)
		}
	}
	return sum
}

func inCell(corner, right, down XY, k, n int) XY {
	u, v := (float64(k%n)+0.5)/float64(n), (float64(k/n)+0.5)/float64(n)
	return XY{corner[0] + u*right[0] + v*down[0], corner[1] + u*right[1] + v*down[1]}
}

func (p *picture) at(mm XY) tint {
	for i := len(p.layers) - 1; i >= 0; i-- {
		if t, ok := p.layers[i](mm); ok {
			return t
		}
	}
	return tint{}
}

// shade is the share of light that reaches a pixel.
func (p *picture) shade(x, y int) float32 {
	u, v := float64(x)/float64(p.cam.w)-0.5, float64(y)/float64(p.cam.h)-0.5
	r2 := (u*u + v*v) * 2
	return float32((1 - p.vignette*r2) * (1 + u*p.slope[0] + v*p.slope[1]))
}

// smooth blurs by a Gaussian of sigma px.
func smooth(in []float32, w, h int, sigma float64) []float32 {
	if sigma <= 0 {
		return in
	}
	m := int(math.Ceil(3 * sigma))
	kernel, sum := make([]float32, 2*m+1), float32(0)
	for i := range kernel {
		kernel[i] = float32(math.Exp(-float64((i-m)*(i-m)) / (2 * sigma * sigma)))
		sum += kernel[i]
	}
	for i := range kernel {
		kernel[i] /= sum
	}
	across := make([]float32, len(in))
	for y := range h {
		convolve(across[3*w*y:3*w*(y+1)], in[3*w*y:3*w*(y+1)], w, 3, kernel)
	}
	out := make([]float32, len(in))
	for y := range h {
		for k, f := range kernel {
			from := across[3*w*min(max(y+k-m, 0), h-1):]
			to := out[3*w*y : 3*w*(y+1)]
			for i := range to {
				to[i] += f * from[i]
			}
		}
	}
	return out
}

// convolve adds the blurred row of n pixels of so many values to out.
func convolve(out, in []float32, n, values int, kernel []float32) {
	m := len(kernel) / 2
	for x := range n {
		for k, f := range kernel {
			j := values * min(max(x+k-m, 0), n-1)
			for c := range values {
				out[values*x+c] += f * in[j+c]
			}
		}
	}
}

// toLight and toLevel are the transfer curve of sRGB (IEC 61966-2-1) and its inverse, levels 0..255.
func toLight(level float64) float64 {
	if v := level / 255; v > 0.04045 {
		return math.Pow((v+0.055)/1.055, 2.4)
	}
	return level / 255 / 12.92
}

func toLevel(light float32) float64 {
	x := float64(max(0, min(1, light))) * float64(len(levels)-1)
	i := min(int(x), len(levels)-2)
	return levels[i] + (x-float64(i))*(levels[i+1]-levels[i])
}

var levels = func() (t [8192]float64) {
	for i := range t {
		v := float64(i) / float64(len(t)-1)
		if t[i] = 255 * 12.92 * v; v > 0.0031308 {
			t[i] = 255 * (1.055*math.Pow(v, 1/2.4) - 0.055)
		}
	}
	return t
}()
