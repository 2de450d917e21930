package scene

import (
	"image"
	"math"
	"math/rand/v2"
	"sort"
)

// develop turns the light on the sensor into the picture: lens blur, motion, exposure, balance, noise, tone, sharpening.
func develop(pl *plate, s Settings, g *rand.Rand) *image.NRGBA {
	pl.light = blurGauss(pl.light, pl.w, pl.h, 0.55)
	if r := s.Photo.DefocusPx.draw(g); r > 0.3 {
		pl.light = blurDisc(pl.light, pl.w, pl.h, r)
	}
	if m := s.Photo.MotionPx.draw(g); m > 0.8 {
		pl.light = blurLine(pl.light, pl.w, pl.h, m, g.Float64()*math.Pi)
	}
	gain := exposure(pl) * math.Exp2(s.Photo.ExposureEV.draw(g))
	bal := rgb{gain * math.Exp(s.Photo.Balance.draw(g)), gain, gain * math.Exp(s.Photo.Balance.draw(g))}
	grain, vig := s.Photo.Noise.draw(g), s.Photo.Vignette.draw(g)
	seed := g.Uint32()
	pl.expose(bal, grain, vig, seed)
	if grain > 0 { // a phone's noise reduction leaves soft grain
		pl.light = blurGauss(pl.light, pl.w, pl.h, 0.45)
	}
	sharpen := s.Photo.Sharpen.draw(g)
	pl.saturate(s.Photo.Saturation.draw(g))
	return pl.print(sharpen, s.Photo.Contrast.draw(g))
}

// exposure is the automatic gain: the mean near middle grey, the brightest not far over white.
func exposure(pl *plate) float64 {
	var sum float64
	var ys []float64
	for i := 0; i+2 < len(pl.light); i += 3 * 97 {
		y := rgb{float64(pl.light[i]), float64(pl.light[i+1]), float64(pl.light[i+2])}.luma()
		sum += y
		ys = append(ys, y)
	}
	sort.Float64s(ys)
	mean := sum / float64(len(ys))
	high := ys[len(ys)*99/100]
	// A phone lets an evenly bright scene be bright.
	target := 0.24 * (1 + 1.3*smooth(0.25, 0.75, mean/math.Max(1e-6, high)))
	return math.Min(target/math.Max(1e-6, mean), 0.92/math.Max(1e-6, high))
}

// expose applies gain and vignetting, and adds shot and read noise, drawn by position.
func (pl *plate) expose(gain rgb, grain, vig float64, seed uint32) {
	cx, cy := float64(pl.w)/2, float64(pl.h)/2
	r2 := cx*cx + cy*cy
	parallel(pl.h, func(y int) {
		for x := 0; x < pl.w; x++ {
			dx, dy := float64(x)-cx, float64(y)-cy
			k := 1 - vig*(dx*dx+dy*dy)/r2
			o := 3 * (y*pl.w + x)
			for n := 0; n < 3; n++ {
				v := float64(pl.light[o+n]) * gain[n] * k
				sd := grain * math.Sqrt(math.Max(0, v)*1.6e-4+4e-6)
				if n != 1 {
					sd *= 1.5
				}
				h := hash32(int32(x), int32(y), seed+uint32(n)*7919)
				h2 := h*0x9E3779B1 ^ h>>13
				z := (float64(h&0xffff)+float64(h>>16)+float64(h2&0xffff)+float64(h2>>16))/65536 - 2
				pl.light[o+n] = float32(v + sd*z*1.7320508)
			}
		}
	})
}

// saturate scales the distance of each pixel's colour from its grey.
func (pl *plate) saturate(k float64) {
	if k == 0 || k == 1 {
		return
	}
	parallel(pl.h, func(y int) {
		row := pl.light[3*y*pl.w : 3*(y+1)*pl.w]
		for i := 0; i < len(row); i += 3 {
			g := 0.2126*row[i] + 0.7152*row[i+1] + 0.0722*row[i+2]
			for n := range 3 {
				row[i+n] = g + (row[i+n]-g)*float32(k)
			}
		}
	})
}

// print applies the tone curve and sharpening and rounds to 8 bit.
func (pl *plate) print(sharpen, contrast float64) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, pl.w, pl.h))
	tone := toneTable(contrast)
	parallel(pl.h, func(y int) {
		for x := 0; x < pl.w; x++ {
			for n := 0; n < 3; n++ {
				pl.light[3*(y*pl.w+x)+n] = float32(look(tone, float64(pl.light[3*(y*pl.w+x)+n])))
			}
		}
	})
	soft := blurGauss(pl.light, pl.w, pl.h, 1.1)
	parallel(pl.h, func(y int) {
		for x := 0; x < pl.w; x++ {
			o := y*pl.w + x
			for n := 0; n < 3; n++ {
				v := float64(pl.light[3*o+n])
				v += sharpen * (v - float64(soft[3*o+n]))
				img.Pix[4*o+n] = uint8(clamp(v, 0, 1)*255 + 0.5)
			}
			img.Pix[4*o+3] = 255
		}
	})
	return img
}

// toneTable maps linear light 0..1.5 to display values with a soft shoulder.
func toneTable(contrast float64) []float64 {
	t := make([]float64, 4097)
	for i := range t {
		v := float64(i) / 4096 * 1.5
		if v > 0.7 {
			v = 0.7 + 0.3*(1-math.Exp(-(v-0.7)/0.3))
		}
		d := toSRGB(v)
		t[i] = d + contrast*math.Sin(2*math.Pi*(d-0.5))
	}
	return t
}

func look(t []float64, v float64) float64 {
	x := clamp(v/1.5, 0, 1) * 4096
	i := min(int(x), 4095)
	return mix(t[i], t[i+1], x-float64(i))
}

// blurGauss is a separable Gaussian of the given sigma, px.
func blurGauss(a []float32, w, h int, sigma float64) []float32 {
	n := int(math.Ceil(3 * sigma))
	k := make([]float32, 2*n+1)
	sum := 0.0
	for i := range k {
		v := math.Exp(-float64((i-n)*(i-n)) / (2 * sigma * sigma))
		k[i], sum = float32(v), sum+v
	}
	for i := range k {
		k[i] /= float32(sum)
	}
	mid, out := make([]float32, len(a)), make([]float32, len(a))
	parallel(h, func(y int) {
		row := a[3*y*w : 3*(y+1)*w]
		blurRow(mid[3*y*w:3*(y+1)*w], row, k, n)
	})
	parallel(h, func(y int) {
		dst := out[3*y*w : 3*(y+1)*w]
		for i, f := range k {
			o := 3 * w * min(max(y+i-n, 0), h-1)
			for x, v := range mid[o : o+3*w] {
				dst[x] += f * v
			}
		}
	})
	return out
}

// blurRow convolves one row of three values a pixel; the ends repeat.
func blurRow(dst, row, k []float32, n int) {
	last := len(row)/3 - 1
	for i, f := range k {
		d := i - n
		lo, hi := max(0, -d), min(last, last-d)
		for x, v := range row[3*(lo+d) : 3*(hi+d)+3] {
			dst[3*lo+x] += f * v
		}
		for x := 0; x < lo; x++ {
			for c := 0; c < 3; c++ {
				dst[3*x+c] += f * row[c]
			}
		}
		for x := hi + 1; x <= last; x++ {
			for c := 0; c < 3; c++ {
				dst[3*x+c] += f * row[3*last+c]
			}
		}
	}
}

// blurDisc averages over a disc of radius r px with a soft edge, row by row by running sums.
func blurDisc(a []float32, w, h int, r float64) []float32 {
	n := int(math.Ceil(r))
	sums := make([]float64, 3*(w+1)*h)
	parallel(h, func(y int) {
		for x := 0; x < w; x++ {
			for c := 0; c < 3; c++ {
				sums[3*(y*(w+1)+x+1)+c] = sums[3*(y*(w+1)+x)+c] + float64(a[3*(y*w+x)+c])
			}
		}
	})
	out := make([]float32, len(a))
	parallel(h, func(y int) {
		for x := 0; x < w; x++ {
			var c [3]float64
			weight := 0.0
			for d := -n; d <= n; d++ {
				half := math.Sqrt(math.Max(0, (r+0.3)*(r+0.3)-float64(d*d)))
				if half == 0 {
					continue
				}
				row := min(max(y+d, 0), h-1)
				weight += spanSum(sums[3*row*(w+1):3*(row+1)*(w+1)], w, float64(x)+0.5-half, float64(x)+0.5+half, &c)
			}
			for k := range c {
				out[3*(y*w+x)+k] = float32(c[k] / weight)
			}
		}
	})
	return out
}

// spanSum adds the row's integral from a to b (px) and returns its width.
func spanSum(sums []float64, w int, a, b float64, c *[3]float64) float64 {
	a, b = clamp(a, 0, float64(w)), clamp(b, 0, float64(w))
	for k := range c {
		c[k] += sumTo(sums, w, b, k) - sumTo(sums, w, a, k)
	}
	return b - a
}

func sumTo(sums []float64, w int, x float64, k int) float64 {
	i := min(int(x), w-1)
	return mix(sums[3*i+k], sums[3*(i+1)+k], x-float64(i))
}

// blurLine smears along a direction, length px.
func blurLine(a []float32, w, h int, length, angle float64) []float32 {
	u := unit(angle)
	n := max(3, int(math.Ceil(length*1.5)))
	out := make([]float32, len(a))
	parallel(h, func(y int) {
		for x := 0; x < w; x++ {
			var c [3]float64
			for i := 0; i < n; i++ {
				t := (float64(i)/float64(n-1) - 0.5) * length
				fx, fy := clamp(float64(x)+t*u[0], 0, float64(w)-1.001), clamp(float64(y)+t*u[1], 0, float64(h)-1.001)
				ix, iy := int(fx), int(fy)
				p, q := fx-float64(ix), fy-float64(iy)
				o := 3 * (iy*w + ix)
				for k := range c {
					c[k] += mix(mix(float64(a[o+k]), float64(a[o+3+k]), p), mix(float64(a[o+3*w+k]), float64(a[o+3*w+3+k]), p), q)
				}
			}
			for k := range c {
				out[3*(y*w+x)+k] = float32(c[k] / float64(n))
			}
		}
	})
	return out
}
