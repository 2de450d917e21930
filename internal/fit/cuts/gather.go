package main

import (
	"encoding/gob"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io/fs"
	"log"
	"os"
	"path/filepath"
	"strings"

	"gristmark/internal/fit/gather"
	"gristmark/internal/result"
	"gristmark/internal/scene"
	"gristmark/vision"
	"gristmark/vision/shape"
)

// example is a cut that was looked at.
type example struct {
	Scene int
	X     []float64
	Parts bool // it parts two pieces
}

// examplesFrom reads the examples from the file if it is there, else gathers and keeps them.
func examplesFrom(dir, file string) ([]example, int, error) {
	if file == "" {
		return gather.Scenes(dir, examplesOf)
	}
	f, err := os.Open(file)
	if errors.Is(err, fs.ErrNotExist) {
		all, n, err := gather.Scenes(dir, examplesOf)
		if err != nil {
			return nil, 0, err
		}
		return all, n, keep(file, all, n)
	}
	if err != nil {
		return nil, 0, err
	}
	defer f.Close()
	var all []example
	var n int
	d := gob.NewDecoder(f)
	return all, n, errors.Join(d.Decode(&n), d.Decode(&all))
}

func keep(file string, all []example, n int) error {
	f, err := os.Create(file)
	if err != nil {
		return err
	}
	e := gob.NewEncoder(f)
	return errors.Join(e.Encode(n), e.Encode(all), f.Close())
}

func examplesOf(file string, id int) ([]example, error) {
	s, err := gather.Open(file)
	if s == nil || err != nil {
		return nil, err
	}
	defer s.Photo.Close()
	labels, err := readLabels(strings.TrimSuffix(file, ".truth.json") + ".labels.png")
	if errors.Is(err, fs.ErrNotExist) {
		labels, err = drawLabels(s.Truth), nil
	}
	if err != nil {
		return nil, err
	}
	var out []example
	opt := vision.DefaultOptions()
	opt.KeepAll = true
	opt.JudgeCut = func(f []float64, a, b []result.XY) float64 {
		if len(a)+len(b) > mostPoints {
			return 0 // the rim of the tray
		}
		v := verdict(labels, a, b)
		if v.known {
			out = append(out, example{id, f, v.parts})
		}
		if !v.known || !v.parts {
			return 0
		}
		return 0.6 + 0.4*v.pure
	}
	if _, err := s.Look(opt); err != nil {
		return nil, err
	}
	log.Printf("%s: %d cuts", filepath.Base(file), len(out))
	return out, nil
}

// mostPoints of the outlines of what is still taken for pieces.
const mostPoints = 1500

func readLabels(file string) (*image.Gray16, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	img, err := png.Decode(f)
	if err != nil {
		return nil, err
	}
	g, ok := img.(*image.Gray16)
	if !ok {
		return nil, fmt.Errorf("%s: it has not 16 bits of grey", file)
	}
	return g, nil
}

// drawLabels fills the outlines of the truth; of two pieces across each other the later hides the earlier.
func drawLabels(t scene.Truth) *image.Gray16 {
	g := image.NewGray16(image.Rect(0, 0, t.WidthPx, t.HeightPx))
	for i, thing := range t.Things {
		lo, hi := shape.Bounds(thing.OutlinePx)
		for y := max(0, int(lo[1])); y <= min(t.HeightPx-1, int(hi[1])); y++ {
			for x := max(0, int(lo[0])); x <= min(t.WidthPx-1, int(hi[0])); x++ {
				if shape.Contains(thing.OutlinePx, result.XY{float64(x) + 0.5, float64(y) + 0.5}) {
					g.SetGray16(x, y, color.Gray16{Y: uint16(i + 1)})
				}
			}
		}
	}
	return g
}

// cutTruth is what the truth says of a cut.
type cutTruth struct {
	known, parts bool
	pure         float64 // share of the pixels that lie on their thing's side
}

// Limits of what counts as parting: every thing of some size lies mostly on one side, and neither side is bare ground.
const (
	leastThing = 0.05 // of the pixels of both sides
	mostSliced = 0.20 // of a thing's pixels on the wrong side
	mostGround = 0.60 // of a side
)

func verdict(labels *image.Gray16, a, b []result.XY) (v cutTruth) {
	in := [2]map[uint16]int{sample(labels, a, b), sample(labels, b, a)}
	total, ground := [2]int{}, [2]int{}
	all := map[uint16]int{}
	for s, side := range in {
		for id, n := range side {
			total[s] += n
			if id == 0 {
				ground[s] += n
			} else {
				all[id] += n
			}
		}
	}
	n := total[0] + total[1]
	if total[0] < 6 || total[1] < 6 {
		return v
	}
	for s := range total {
		if float64(ground[s]) > mostGround*float64(total[s]) {
			return v
		}
	}
	var held [2]int
	right, things := 0, 0
	for id, k := range all {
		if float64(k) < leastThing*float64(n) {
			continue
		}
		x, y := in[0][id], in[1][id]
		things += k
		right += max(x, y)
		if float64(min(x, y)) > mostSliced*float64(k) {
			return cutTruth{known: true}
		}
		if x > y {
			held[0]++
		} else {
			held[1]++
		}
	}
	if things == 0 {
		return v
	}
	return cutTruth{known: true, parts: held[0] > 0 && held[1] > 0, pure: float64(right) / float64(things)}
}

// sample counts the things under one side of a cut, on a grid that both sides share.
func sample(labels *image.Gray16, o, other []result.XY) map[uint16]int {
	lo, hi := shape.Bounds(append(append([]result.XY(nil), o...), other...))
	step := max(1, int((hi[0]-lo[0]+hi[1]-lo[1])/80))
	out := map[uint16]int{}
	lo, hi = shape.Bounds(o)
	for y := int(lo[1]) / step * step; y <= int(hi[1]); y += step {
		for x := int(lo[0]) / step * step; x <= int(hi[0]); x += step {
			if shape.Contains(o, result.XY{float64(x) + 0.5, float64(y) + 0.5}) {
				out[labels.Gray16At(x, y).Y]++
			}
		}
	}
	return out
}
