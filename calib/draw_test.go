package calib

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"testing"

	"gocv.io/x/gocv"

	"gristmark/calib/card"
	"gristmark/internal/result"
)

// scene is a drawn photo with its truth.
type scene struct {
	width, height int
	focal         float64 // px
	heightMM      float64 // of the camera
	tilt, azimuth float64 // radians
	roll          float64
	aim           result.XY // point of the plane on the optical axis, mm
	k1            float64   // distortion at half the diagonal
	off           result.XY // principal point from the photo's middle, px: a cropped photo
	blur, noise   float64   // px, grey levels
	quality       int       // JPEG; 0 none
	tray          color.NRGBA
	cover         func(mm result.XY) bool // where something lies on the ruler
	seed          uint64
}

func plain() scene {
	return scene{width: 2000, height: 1500, focal: 0.6 * 2500, heightMM: 260, aim: result.XY{75, 20},
		blur: 0.8, noise: 3, tray: color.NRGBA{40, 60, 90, 255}, seed: 1}
}

// truth is the view of the scene.
func (s scene) truth() view {
	v := view{radii: math.Hypot(float64(s.width), float64(s.height)) / 2}
	v.p[pFocal], v.p[pK1] = math.Log(s.focal), s.k1
	v.p[pCX], v.p[pCY] = float64(s.width)/2+s.off[0], float64(s.height)/2+s.off[1]
	// Plane to camera: roll about the axis after a tilt about an axis in the plane.
	tilt := rodrigues(s.tilt*math.Cos(s.azimuth), s.tilt*math.Sin(s.azimuth), 0)
	roll := rodrigues(0, 0, s.roll)
	var r [9]float64
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				r[3*i+j] += roll[3*i+k] * tilt[3*k+j]
			}
		}
	}
	w := rotationVector(r)
	copy(v.p[pRotX:], w[:])
	depth := s.heightMM / math.Cos(s.tilt)
	for i := range 3 {
		t := -(r[3*i]*s.aim[0] + r[3*i+1]*s.aim[1])
		if i == 2 {
			t += depth
		}
		v.p[pMoveX+i] = t
	}
	v.set()
	return v
}

// layer is a raster on the plane.
type layer struct {
	img  *image.NRGBA
	dpi  float64
	at   result.XY // its top left corner, mm
	turn float64   // radians
	bend func(result.XY) result.XY
}

func (l layer) sample(mm result.XY) (color.NRGBA, bool) {
	d := sub(mm, l.at)
	if l.turn != 0 {
		s, c := math.Sincos(-l.turn)
		d = result.XY{c*d[0] - s*d[1], s*d[0] + c*d[1]}
	}
	if l.bend != nil {
		d = l.bend(d)
	}
	x, y := int(math.Floor(d[0]*l.dpi/25.4)), int(math.Floor(d[1]*l.dpi/25.4))
	if !(image.Point{x, y}).In(l.img.Rect) {
		return color.NRGBA{}, false
	}
	i := l.img.PixOffset(x, y)
	return color.NRGBA{l.img.Pix[i], l.img.Pix[i+1], l.img.Pix[i+2], 255}, true
}

// draw makes the photo: four rays a pixel, blur in linear light, noise, JPEG.
func (s scene) draw(t testing.TB, layers ...layer) gocv.Mat {
	t.Helper()
	v := s.truth()
	w, h := s.width, s.height
	lin := make([]float32, 3*w*h)
	const n = 2
	// The plane's place of each pixel's corner; within a pixel it is taken as straight.
	above, below := make([]result.XY, w+1), make([]result.XY, w+1)
	row := func(y int, to []result.XY) {
		for x := range to {
			to[x] = v.toMM(result.XY{float64(x), float64(y)})
		}
	}
	row(0, below)
	for y := range h {
		above, below = below, above
		row(y+1, below)
		for x := range w {
			a, right, down := above[x], sub(above[x+1], above[x]), sub(below[x], above[x])
			var sum [3]float32
			for k := range n * n {
				mm := add(add(a, right, (float64(k%n)+0.5)/n), down, (float64(k/n)+0.5)/n)
				c := s.colour(mm, layers)
				sum[0] += light[c.B]
				sum[1] += light[c.G]
				sum[2] += light[c.R]
			}
			for i := range 3 {
				lin[3*(y*w+x)+i] = sum[i] / (n * n)
			}
		}
	}
	lin = blurred(lin, w, h, s.blur)
	r := rand.New(rand.NewPCG(s.seed, 7))
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	for i := range w * h {
		for c := range 3 {
			e := encodeLight(float64(lin[3*i+2-c])) + s.noise*r.NormFloat64()
			img.Pix[4*i+c] = uint8(max(0, min(255, math.Round(e))))
		}
		img.Pix[4*i+3] = 255
	}
	return toMat(t, img, s.quality)
}

// colour is what lies at a point of the plane.
func (s scene) colour(mm result.XY, layers []layer) color.NRGBA {
	if s.cover != nil && s.cover(mm) {
		return color.NRGBA{220, 190, 60, 255}
	}
	for i := len(layers) - 1; i >= 0; i-- {
		if c, ok := layers[i].sample(mm); ok {
			return c
		}
	}
	return s.tray
}

func toMat(t testing.TB, img image.Image, quality int) gocv.Mat {
	t.Helper()
	if quality > 0 {
		var b bytes.Buffer
		if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: quality}); err != nil {
			t.Fatal(err)
		}
		m, err := gocv.IMDecode(b.Bytes(), gocv.IMReadColor)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	m, err := gocv.ImageToMatRGB(img)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// encodeLight is the inverse of light, in grey levels, from a table of 4096 steps.
func encodeLight(v float64) float64 {
	x := max(0, min(1, v)) * 4095
	i := min(int(x), 4094)
	return encoded[i] + (x-float64(i))*(encoded[i+1]-encoded[i])
}

var encoded = func() (t [4096]float64) {
	for i := range t {
		t[i] = encodeExactly(float64(i) / 4095)
	}
	return t
}()

func encodeExactly(v float64) float64 {
	if v <= 0.0031308 {
		return 255 * 12.92 * v
	}
	return 255 * (1.055*math.Pow(v, 1/2.4) - 0.055)
}

func blurred(in []float32, w, h int, sigma float64) []float32 {
	if sigma <= 0 {
		return in
	}
	m := int(math.Ceil(3 * sigma))
	kernel := make([]float32, 2*m+1)
	var sum float32
	for i := range kernel {
		kernel[i] = float32(math.Exp(-float64((i-m)*(i-m)) / (2 * sigma * sigma)))
		sum += kernel[i]
	}
	for i := range kernel {
		kernel[i] /= sum
	}
	pass := func(in []float32, n, stride, lines, across int) []float32 {
		out := make([]float32, len(in))
		for l := range lines {
			for i := range n {
				for k, f := range kernel {
					j := l*across + min(max(i+k-m, 0), n-1)*stride
					o := l*across + i*stride
					out[o] += f * in[j]
					out[o+1] += f * in[j+1]
					out[o+2] += f * in[j+2]
				}
			}
		}
		return out
	}
	return pass(pass(in, w, 3, h, 3*w), h, 3*w, w, 3)
}

var rasters = map[string]*image.NRGBA{}

const rasterDPI = 400

// sheetLayer is a sheet printed at its place.
func sheetLayer(s card.Sheet, at result.XY, turn float64) layer {
	if rasters[s.Name] == nil {
		rasters[s.Name] = s.Raster(rasterDPI)
	}
	return layer{img: rasters[s.Name], dpi: rasterDPI, at: at, turn: turn}
}

// scaleError is the relative error of the plane's scale at the photo's centre.
func (s scene) scaleError(p *Plane) float64 {
	v := s.truth()
	return p.Scale().MMPerPx/v.mmPerPx(result.XY{float64(s.width) / 2, float64(s.height) / 2}) - 1
}
