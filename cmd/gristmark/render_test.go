package main

import (
	"bytes"
	"flag"
	"fmt"
	"image"
	"os"
	"path/filepath"
	"sync"

	"github.com/disintegration/imaging"
	"github.com/rogpeppe/go-internal/testscript"

	"gristmark/internal/scene"
)

// smallScene is a tray of some 200 mm, drawn small: a second or two for a photo.
func smallScene() scene.Settings {
	s := scene.Default()
	s.WidthPx, s.HeightPx = 1200, 900
	s.Camera.HeightMM, s.Camera.TiltDeg, s.Camera.OffCentreMM = scene.Range{165, 170}, scene.Range{0, 4}, scene.Range{0, 2}
	s.Camera.RollDeg, s.Camera.BarrelPct = scene.Range{-5, 5}, scene.Range{0, 0}
	s.Tray.Kinds, s.Tray.WidthMM, s.Tray.HeightMM = []string{"navy"}, scene.Range{330, 340}, scene.Range{250, 260}
	s.Place.Kernels, s.Place.Pieces, s.VaryLot = scene.Range{22, 26}, scene.Range{12, 16}, false
	return s
}

var (
	renderMu sync.Mutex
	rendered = map[string][]byte{}
)

// cmdRender draws a tray photo: render [-seed N] [-sheet card|none] [-blur PX] [-show kernels|pieces|unbroken|nicked]
// [-orient N] [-turn DEG] FILE. The ending, jpg, png or tif, picks the format; -turn is a second shot of the same
// spread, from another side and a little further off.
func cmdRender(ts *testscript.TestScript, neg bool, args []string) {
	set := flag.NewFlagSet("render", flag.ContinueOnError)
	seed := set.Uint64("seed", 1, "")
	sheet := set.String("sheet", "card", "")
	blur := set.Float64("blur", 0, "")
	show := set.String("show", "mixed", "")
	orient := set.Int("orient", 1, "")
	turn := set.Float64("turn", 0, "")
	if err := set.Parse(args); err != nil || neg || set.NArg() != 1 {
		ts.Fatalf("usage: render [-seed N] [-sheet S] [-blur PX] [-show W] file")
	}
	s := smallScene()
	s.Scale.Sheet = *sheet
	if *sheet == "none" {
		s.Scale.Sheet = ""
	}
	s.Photo.DefocusPx = scene.Range{*blur, *blur}
	switch *show {
	case "kernels":
		s.Place.Pieces = scene.Range{0, 0}
	case "pieces":
		s.Place.Kernels = scene.Range{0, 0}
	case "unbroken":
		s.Place.Pieces, s.Place.GapMM, s.Lot.WholeShare, s.Lot.NickShare = scene.Range{0, 0}, 2, 1, 0
	case "nicked": // nobody can tell of many whether they pass for whole
		s.Lot.WholeShare, s.Lot.NickShare = 0, 0.8
	}
	path := ts.MkAbs(set.Arg(0))
	data, err := renderOnce(s, *seed, filepath.Ext(path), *orient, *turn, fmt.Sprint(args[:len(args)-1], filepath.Ext(path)))
	ts.Check(err)
	ts.Check(os.MkdirAll(filepath.Dir(path), 0o777))
	ts.Check(os.WriteFile(path, data, 0o666))
}

// renderOnce keeps what it drew: scripts share their photos.
func renderOnce(s scene.Settings, seed uint64, ending string, orient int, turn float64, key string) ([]byte, error) {
	renderMu.Lock()
	defer renderMu.Unlock()
	if data, ok := rendered[key]; ok {
		return data, nil
	}
	p := scene.Scene{Settings: s, Seed: seed}.Draw()
	if turn != 0 {
		p.Image = secondShot(p.Image, turn)
	}
	var b bytes.Buffer
	var err error
	switch ending {
	case ".png":
		err = imaging.Encode(&b, p.Image, imaging.PNG)
	case ".tif":
		err = imaging.Encode(&b, p.Image, imaging.TIFF)
	default:
		c := p.DefaultCapture()
		c.Orientation = orient
		var data []byte
		data, err = p.JPEG(c)
		b.Write(data)
	}
	rendered[key] = b.Bytes()
	return b.Bytes(), err
}

func secondShot(img *image.NRGBA, turn float64) *image.NRGBA {
	size := img.Rect.Size()
	turned := imaging.Rotate(img, turn, img.NRGBAAt(size.X/2, 2))
	return imaging.Resize(turned, size.X, 0, imaging.Lanczos)
}
