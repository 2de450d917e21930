package kernels

import (
	"image"
	"image/color"
	"math"
	"testing"

	"gristmark/internal/result"
)

// sheet is a picture of 200 x 100 px: the ground, and from x = 100 on a card with a third of it printed black.
func sheet(ground, paper color.NRGBA) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, 200, 100))
	for y := range 100 {
		for x := range 200 {
			c := ground
			if x >= 100 {
				c = paper
				if y%3 == 0 {
					c = color.NRGBA{20, 20, 20, 255}
				}
			}
			img.SetNRGBA(x, y, c)
		}
	}
	return img
}

func rectangle(x0, x1 float64) []result.XY {
	return []result.XY{{x0, 0}, {x1, 0}, {x1, 100}, {x0, 100}}
}

func TestWhite(t *testing.T) {
	navy, tinted, burnt := color.NRGBA{30, 40, 80, 255}, color.NRGBA{230, 215, 190, 255}, color.NRGBA{255, 250, 240, 255}
	cream, pale := color.NRGBA{200, 195, 190, 255}, color.NRGBA{200, 180, 140, 255}
	for name, c := range map[string]struct {
		img   image.Image
		paper [][]result.XY
		field []result.XY
		from  string
		want  color.NRGBA
	}{
		"card, some tray about it": {sheet(navy, tinted), [][]result.XY{rectangle(80, 200)}, nil, WhitePaper, tinted},
		"burnt out":                {sheet(navy, burnt), [][]result.XY{rectangle(100, 200)}, nil, "", navy},
		"no card, dark tray":       {sheet(navy, tinted), nil, rectangle(0, 100), "", navy},
		"no card, white tray":      {sheet(cream, tinted), nil, rectangle(0, 100), WhiteTray, cream},
		"no card, wooden tray":     {sheet(pale, tinted), nil, rectangle(0, 100), "", navy},
		"nothing":                  {sheet(navy, tinted), nil, nil, "", navy},
	} {
		got := White(c.img, c.paper, c.field)
		if (got == nil) != (c.from == "") || got != nil && got.From != c.from {
			t.Errorf("%s: %+v, want %q", name, got, c.from)
			continue
		}
		for k, v := range []uint8{c.want.R, c.want.G, c.want.B} {
			if got != nil && math.Abs(got.SRGB[k]-float64(v)/255) > 1e-3 {
				t.Errorf("%s: %v, want %v", name, got.SRGB, c.want)
			}
		}
	}
}

// A kernel under light that tints paper and kernel alike has, against the paper, the colour that it has in white light.
func TestColourOnWhiteIsFreeOfTheLight(t *testing.T) {
	kernel := [3]float64{0.8, 0.6, 0.25}
	unlinear := func(v float64) uint8 { // IEC 61966-2-1 backwards
		if v <= 0.0031308 {
			return uint8(math.Round(255 * 12.92 * v))
		}
		return uint8(math.Round(255 * (1.055*math.Pow(v, 1/2.4) - 0.055)))
	}
	var plain [3]float64
	for i, light := range [][3]float64{{1, 1, 1}, {0.9, 0.7, 0.5}, {0.6, 0.7, 0.9}} {
		shown, white := [3]uint8{}, [3]float64{}
		for k := range shown {
			shown[k] = unlinear(Linear(kernel[k]) * light[k])
			white[k] = float64(unlinear(light[k])) / 255
		}
		img := image.NewNRGBA(image.Rect(0, 0, 20, 20))
		for k := range 400 {
			img.SetNRGBA(k%20, k/20, color.NRGBA{shown[0], shown[1], shown[2], 255})
		}
		lab, ok := MeanLabOn(img, []result.XY{{0, 0}, {20, 0}, {20, 20}, {0, 20}}, white)
		if i == 0 {
			plain = lab
		}
		for k := range lab {
			if !ok || math.Abs(lab[k]-plain[k]) > 0.7 { // eight bits a channel
				t.Errorf("under %v: %v, want %v", light, lab, plain)
			}
		}
	}
}
