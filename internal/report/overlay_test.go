package report

import (
	"image"
	"image/color"
	"math"
	"strings"
	"testing"

	"gristmark/internal/result"
)

func overlay() Overlay {
	doc := document()
	return Overlay{
		Picture: plainPicture(1000, 600), Photo: doc.Photos[0], Sample: doc.Sample, GridMM: 10,
		Grid:  [][]result.XY{{{0, 300}, {1000, 300}}},
		Marks: []Mark{{circle(700, 450, 30), true}, {[]result.XY{{800, 520}}, false}},
	}
}

func near(img image.Image, x, y int, want color.NRGBA) bool {
	r, g, b, _ := img.At(x, y).RGBA()
	d := func(a uint32, b uint8) float64 { return math.Abs(float64(a>>8) - float64(b)) }
	return d(r, want.R)+d(g, want.G)+d(b, want.B) < 90
}

// Outlines are drawn where they lie, in the colour of their class, also on a picture of half the size.
func TestOverlayDrawsOutlines(t *testing.T) {
	for _, scale := range []int{1, 2} {
		o := overlay()
		o.Picture = plainPicture(1000/scale, 600/scale)
		img := o.Draw()
		for name, c := range map[string]struct {
			x, y int
			want color.NRGBA
		}{
			"whole kernel":  {210, 150, styles[0].color},
			"broken kernel": {440, 150, styles[1].color},
			"used mark":     {730, 450, usedColor},
			"tray":          {300, 500, color.NRGBA{0x10, 0x20, 0x50, 255}},
		} {
			if !near(img, c.x/scale, c.y/scale, c.want) {
				t.Errorf("1/%d, %s: %v at %d, %d", scale, name, img.At(c.x/scale, c.y/scale), c.x, c.y)
			}
		}
		if size := img.Bounds().Size(); size.X != 1000/scale || size.Y <= 600/scale {
			t.Errorf("picture of %v", size)
		}
	}
}

// No two classes share colour or line.
func TestStylesDiffer(t *testing.T) {
	for i, a := range styles {
		for _, b := range styles[:i] {
			if a.color == b.color || a.width == b.width && len(a.dash) == len(b.dash) && (len(a.dash) == 0 || a.dash[0] == b.dash[0]) {
				t.Errorf("%s and %s look alike", a.name, b.name)
			}
		}
	}
}

func TestLegendCounts(t *testing.T) {
	var texts []string
	for _, e := range overlay().legend() {
		texts = append(texts, e.text)
	}
	got := strings.Join(texts, "; ")
	want := "whole kernel 1; broken kernel 1; stover 1; unsure 1; cut by an edge, not measured 1; ruler marks 1; marks thrown out 1; grid 10 mm"
	if got != want {
		t.Errorf("legend %q, want %q", got, want)
	}
}

// The bar is as long as it says: 1000 px of 0.05 mm are 50 mm, so a bar of a third at most is 10 mm.
func TestScaleBar(t *testing.T) {
	for _, width := range []int{1000, 500} {
		bar := overlay().scaleBar(width)
		if bar.text != "10 mm at the centre" || math.Abs(bar.px-200*float64(width)/1000) > 1e-9 {
			t.Errorf("%d px wide: %+v", width, bar)
		}
	}
	if bar := (Overlay{}).scaleBar(500); bar.px != 0 {
		t.Errorf("without a scale: %+v", bar)
	}
}

// A refused photo tells its reason, and no number.
func TestOverlayOfARefusedPhoto(t *testing.T) {
	o := overlay()
	o.Photo = document().Photos[1]
	o.Photo.WidthPx, o.Photo.HeightPx = 1000, 600
	lines := o.bandText()
	if len(lines) != 2 || lines[0].text != "Refused" || !strings.HasPrefix(lines[1].text, "No ruler found") {
		t.Errorf("%+v", lines)
	}
	if size := o.Draw().Bounds().Size(); size.Y <= 600 {
		t.Errorf("no band under the picture: %v", size)
	}
}

// Text keeps to the picture, however narrow.
func TestBandKeepsToThePicture(t *testing.T) {
	for _, width := range []int{300, 800, 2400} {
		o := overlay()
		o.Sample.Advice[0].Do = strings.Repeat("Close the roll gap from 3 to 2.5 mm. ", 4)
		b := o.band(width)
		if len(b.lines) < 5 || b.height < 100 {
			t.Errorf("%d px: %d lines, %d px high", width, len(b.lines), b.height)
		}
		for _, row := range b.legend {
			sum := 0.0
			for _, e := range row {
				sum += e.width
			}
			if sum > float64(width) && len(row) > 1 {
				t.Errorf("%d px: a legend row of %.0f px", width, sum)
			}
		}
	}
}

// A piece without a class has its number beside it, on either side of the picture; others have none.
func TestOverlayNumbersUnsurePieces(t *testing.T) {
	for _, x := range []float64{400, 970} {
		o := overlay()
		o.Grid, o.Marks = nil, nil
		o.Photo.Particles = []result.Particle{{ID: 12, Class: result.Stover, OutlinePx: circle(x, 300, 20)}}
		named := o.Draw()
		o.Photo.Particles[0].Class = result.Unsure
		numbered := o.Draw()
		side := 1.0
		if x > 900 {
			side = -1
		}
		changed, pink := 0, 0
		for dx := 28; dx < 80; dx++ {
			for dy := -20; dy < 20; dy++ {
				px, py := int(x+side*float64(dx)), 300+dy
				if named.At(px, py) != numbered.At(px, py) {
					changed++
				}
				if px < 1000 && near(numbered, px, py, styles[3].color) {
					pink++
				}
			}
		}
		if changed < 200 || pink < 20 {
			t.Errorf("at %g: %d px changed, %d of them in the colour of a number", x, changed, pink)
		}
	}
}

// A region is hatched and outlined, and what lies between the lines stays in view.
func TestOverlayHatchesRegions(t *testing.T) {
	o := overlay()
	o.Grid, o.Marks, o.Photo.Particles = nil, nil, nil
	plain := o.Draw()
	o.Photo.Checks = append(o.Photo.Checks, result.Check{Name: "low_contrast", RegionsPx: [][]result.XY{{{300, 300}, {420, 300}, {420, 400}, {300, 400}}}})
	img := o.Draw()
	red, same, out := 0, 0, 0
	for x := 280; x < 440; x++ {
		for y := 280; y < 420; y++ {
			inside := x > 306 && x < 414 && y > 306 && y < 394
			switch changed := img.At(x, y) != plain.At(x, y); {
			case inside && near(img, x, y, hatchStyle.color):
				red++
			case inside && !changed:
				same++
			case changed && (x < 294 || x > 426 || y < 294 || y > 406):
				out++
			}
		}
	}
	if red < 300 || same < 4000 || out > 0 {
		t.Errorf("%d px of lines, %d px in view, %d px changed outside", red, same, out)
	}
}

// The lines' length times their distance is the area, a hollow in the outline left free.
func TestHatchCoversTheOutline(t *testing.T) {
	o := []result.XY{{0, 0}, {100, 0}, {100, 100}, {60, 100}, {60, 40}, {40, 40}, {40, 100}, {0, 100}} // 10000 less 20 x 60
	sum := 0.0
	for _, s := range hatch(o, 0.5) {
		sum += math.Hypot(s[1][0]-s[0][0], s[1][1]-s[0][1]) * 0.5 / math.Sqrt2
		if x := (s[0][0] + s[1][0]) / 2; x > 41 && x < 59 && (s[0][1]+s[1][1])/2 > 41 {
			t.Errorf("a line in the hollow: %v", s)
		}
	}
	if math.Abs(sum-8800) > 20 {
		t.Errorf("area %g, want 8800", sum)
	}
}
