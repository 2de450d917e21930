package vision

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"testing"
)

// ramp is a picture with a different colour at each place, opaque or not.
func ramp(set func(x, y int, c color.NRGBA), alpha uint8) {
	for y := range 24 {
		for x := range 40 {
			set(x, y, color.NRGBA{uint8(6 * x), uint8(10 * y), uint8(3*x + 5*y), alpha})
		}
	}
}

func TestDecodesEveryPNG(t *testing.T) {
	size := image.Rect(0, 0, 40, 24)
	rgba, nrgba, deep := image.NewRGBA(size), image.NewNRGBA(size), image.NewNRGBA64(size)
	ramp(func(x, y int, c color.NRGBA) { rgba.Set(x, y, c) }, 255)
	ramp(func(x, y int, c color.NRGBA) { nrgba.Set(x, y, c) }, 90)
	ramp(func(x, y int, c color.NRGBA) { deep.Set(x, y, c) }, 90)
	pal := image.NewPaletted(size, nil)
	ramp(func(x, y int, c color.NRGBA) {
		if len(pal.Palette) < 200 {
			pal.Palette = append(pal.Palette, c)
		}
		pal.SetColorIndex(x, y, uint8(len(pal.Palette)-1))
	}, 90)
	for name, img := range map[string]image.Image{"rgb": rgba, "rgb and alpha": nrgba, "16 bit": deep, "palette": pal} {
		var b bytes.Buffer
		if err := png.Encode(&b, img); err != nil {
			t.Fatal(err)
		}
		p, err := Decode(b.Bytes(), 1)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		last := 40 * 24
		if name == "palette" {
			last = 200 // the rest repeats the last colour
		}
		ramp(func(x, y int, c color.NRGBA) {
			v := p.mat.GetVecbAt(y, x)
			if i := y*40 + x; i < last && (v[0] != c.B || v[1] != c.G || v[2] != c.R) {
				t.Fatalf("%s at %d, %d: got %v, want %v", name, x, y, v, c)
			}
		}, 255)
		p.Close()
	}
}

// Two decoders of JPEG may differ by rounding and in how they spread the colour of 2 × 2 pixels: not over 6 of 255 on a
// picture without edges.
func TestDecodesJPEG(t *testing.T) {
	src, grey := image.NewNRGBA(image.Rect(0, 0, 40, 24)), image.NewGray(image.Rect(0, 0, 40, 24))
	for y := range 24 {
		for x := range 40 {
			c := color.NRGBA{uint8(90 + 2*x), uint8(60 + 3*y), uint8(150 - x - y), 255}
			src.Set(x, y, c)
			grey.Set(x, y, c)
		}
	}
	for _, img := range []image.Image{src, grey} {
		var b bytes.Buffer
		if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 98}); err != nil {
			t.Fatal(err)
		}
		want, err := jpeg.Decode(bytes.NewReader(b.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		p, err := Decode(b.Bytes(), 6) // lies on its side
		if err != nil {
			t.Fatal(err)
		}
		if p.Width() != 24 || p.Height() != 40 {
			t.Fatalf("%d × %d, want 24 × 40", p.Width(), p.Height())
		}
		for y := range 24 {
			for x := range 40 {
				r, g, bl, _ := want.At(x, y).RGBA()
				v := p.mat.GetVecbAt(x, 23-y)
				for k, w := range []uint32{bl, g, r} {
					if d := int(v[k]) - int(w>>8); d > 6 || d < -6 {
						t.Fatalf("at %d, %d: got %v, want %d, %d, %d", x, y, v, bl>>8, g>>8, r>>8)
					}
				}
			}
		}
		p.Close()
	}
}

func TestWhatIsNoPictureIsNotDecoded(t *testing.T) {
	for _, data := range []string{"", "no picture", "\xff\xd8\xff", "\xff\xd8\xff\xd9", "\x89PNG\r\n\x1a\n"} {
		if p, err := Decode([]byte(data), 1); err != ErrNotDecoded {
			t.Errorf("%q: %v, %v", data, p, err)
		}
	}
}
