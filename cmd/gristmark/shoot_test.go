package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"

	"github.com/disintegration/imaging"
	"github.com/rogpeppe/go-internal/testscript"

	"gristmark/calib/card"
	"gristmark/internal/intake"
	"gristmark/internal/result"
	"gristmark/internal/scene"
)

// cmdShoot photographs a flat drawing: shoot -of board|card|check [-tilt DEG] [-around DEG] [-x MM] [-y MM] [-high MM]
// [-model NAME] FILE. The board has 9 x 6 inner corners and squares of 20 mm. x
// and y are where the middle of the photo looks, from the drawing's middle. With a model the file, a
// JPEG, names its camera.
func cmdShoot(ts *testscript.TestScript, neg bool, args []string) {
	set := flag.NewFlagSet("shoot", flag.ContinueOnError)
	of := set.String("of", "board", "")
	tilt := set.Float64("tilt", 0, "")
	around := set.Float64("around", 0, "")
	x := set.Float64("x", 0, "")
	y := set.Float64("y", 0, "")
	high := set.Float64("high", 215, "")
	model := set.String("model", "", "")
	if err := set.Parse(args); err != nil || neg || set.NArg() != 1 {
		ts.Fatalf("usage: shoot [-of WHAT] [-tilt DEG] [-around DEG] [-x MM] [-y MM] [-high MM] [-model NAME] file")
	}
	w, h := 800, 600
	if *of != "board" {
		w, h = 2000, 1500
	}
	img := shoot(drawings[*of](), w, h, *tilt*math.Pi/180, *around*math.Pi/180, *x, *y, *high)
	path := ts.MkAbs(set.Arg(0))
	if filepath.Ext(path) != ".jpg" {
		ts.Check(imaging.Save(img, path))
		return
	}
	p := scene.Picture{Image: img}
	p.Truth.Settings = scene.Default()
	data, err := p.JPEG(scene.Capture{Make: "Testcam", Model: *model, Orientation: 1, FocalMM: 4})
	ts.Check(err)
	ts.Check(os.WriteFile(path, data, 0o666))
}

// ink is a drawing: its grey, 0..255, at a place in mm from its middle.
type ink func(x, y float64) float64

var drawings = map[string]func() ink{"board": boardInk, "card": cardInk, "check": checkInk}

// checkInk is the card printed at 98.5 % with a steel rule below it: mm ticks, every fifth and tenth longer.
func checkInk() ink {
	const print, edge, length = 0.985, 24.0, 190.0
	of := cardInk()
	return func(x, y float64) float64 {
		k := math.Round(x)
		tall := 3.0
		switch {
		case math.Mod(k, 10) == 0:
			tall = 7
		case math.Mod(k, 5) == 0:
			tall = 5
		}
		switch {
		case y < edge || y > edge+25 || math.Abs(x) > length/2:
			return of(x/print, y/print)
		case y < edge+tall && math.Abs(x-k) < 0.1:
			return 25
		}
		return 200
	}
}

func boardInk() ink {
	return func(x, y float64) float64 {
		i, j := math.Floor(x/20+5), math.Floor(y/20+3.5)
		switch {
		case i < 0 || j < 0 || i > 9 || j > 6:
			return 230
		case math.Mod(i+j, 2) == 0:
			return 25
		}
		return 230
	}
}

// cardInk is the card, its middle in the middle.
func cardInk() ink {
	const dpi = 254
	sheet := card.Card()
	img := sheet.Raster(dpi)
	return func(x, y float64) float64 {
		px, py := int(math.Floor((x+sheet.WidthMM/2)*dpi/25.4)), int(math.Floor((y+sheet.HeightMM/2)*dpi/25.4))
		if !(image.Pt(px, py)).In(img.Rect) {
			return 70
		}
		return float64(img.NRGBAAt(px, py).G)
	}
}

// shoot looks at the drawing with a pinhole camera, its focal length three quarters of the photo's width.
func shoot(of ink, w, h int, tilt, around, x0, y0, high float64) *image.NRGBA {
	f := 0.75 * float64(w)
	sa, ca := math.Sincos(around)
	st, ct := math.Sincos(tilt)
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	noise := rand.New(rand.NewPCG(1, 2))
	const n = 3
	for py := range h {
		for px := range w {
			sum := 0.0
			for k := range n * n {
				u := (float64(px) + (float64(k%n)+0.5)/n - float64(w)/2) / f
				v := (float64(py) + (float64(k/n)+0.5)/n - float64(h)/2) / f
				// Turned so that the tilt is about v, there met with the plane, and turned back.
				a, b := ca*u+sa*v, -sa*u+ca*v
				d := high / (ct - a*st)
				a, b = d*(a*ct+st)-high*st/ct, d*b
				sum += of(x0+ca*a-sa*b, y0+sa*a+ca*b)
			}
			g := uint8(math.Round(max(0, min(255, sum/(n*n)+2*noise.NormFloat64()))))
			img.SetNRGBA(px, py, color.NRGBA{g, g, g, 255})
		}
	}
	return img
}

// cmdPNGSize checks the size of a PNG: pngsize file width height.
func cmdPNGSize(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: pngsize file width height")
	}
	f, err := os.Open(ts.MkAbs(args[0]))
	ts.Check(err)
	defer f.Close()
	c, err := png.DecodeConfig(f)
	ts.Check(err)
	if got := fmt.Sprint(c.Width, " ", c.Height); got != args[1]+" "+args[2] {
		ts.Fatalf("%s: %s px", args[0], got)
	}
}

// cmdScaleRatio compares the scale of the first photos of two documents: scaleratio A B RATIO [WITHIN], else to a
// millionth.
func cmdScaleRatio(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 3 || len(args) > 4 {
		ts.Fatalf("usage: scaleratio a b ratio [within]")
	}
	within := 1e-6
	if len(args) == 4 {
		var err error
		within, err = strconv.ParseFloat(args[3], 64)
		ts.Check(err)
	}
	var scale [2]float64
	for i := range scale {
		var d result.Document
		ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[i])), &d))
		scale[i] = d.Photos[0].Scale.MMPerPx
	}
	want, err := strconv.ParseFloat(args[2], 64)
	ts.Check(err)
	if got := scale[0] / scale[1]; math.Abs(got-want) > within {
		ts.Fatalf("the scales are as %g to 1", got)
	}
}

// cmdTune gives a profile the camera of a photo: tune profile to photo.
func cmdTune(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: tune profile to photo")
	}
	in, err := intake.Read(ts.MkAbs(args[2]))
	ts.Check(err)
	var p map[string]any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &p))
	p["make"], p["model"], p["lens"], p["focal_mm"] = in.Make, in.Model, in.Lens, in.FocalMM
	data, err := json.Marshal(p)
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), data, 0o666))
}
