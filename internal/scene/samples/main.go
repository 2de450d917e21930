// Command samples draws the demo: photos of two settings of one harvester with truth files, bad photos, the harvest's
// table and weighed sieve boxes. It gives the same pixels everywhere, and the same bytes on one version of Go.
//
//	go run ./internal/scene/samples [--out samples]
package main

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"time"

	"gristmark/internal/scene"
)

func main() {
	out := flag.String("out", "samples", "folder to write to")
	flag.Parse()
	if err := run(*out); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(out string) error {
	for _, l := range loads() {
		if err := drawLoad(out, l); err != nil {
			return err
		}
	}
	return errors.Join(drawBad(filepath.Join(out, "bad")), write(filepath.Join(out, "harvest.csv"), harvest()), write(filepath.Join(out, "README.md"), readme))
}

func write(path string, text string) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return fmt.Errorf("samples: %w", err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		return fmt.Errorf("samples: %w", err)
	}
	return nil
}

// load is one sample of the invented harvest.
type load struct {
	folder   string
	load     string
	lot      scene.Lot
	taken    time.Time
	seed     uint64
	dmPct    float64
	boxGrams float64
}

// loads: the morning's first load at a roll gap of 3 mm, and one after the rolls were closed to 1.5 mm.
func loads() []load {
	wide, close := scene.DefaultLot(), scene.DefaultLot()
	wide.RollGapMM, wide.WholeShare, wide.NickShare, wide.ShareMedian, wide.CutMM = 3, 0.07, 0.04, 0.22, 19
	close.RollGapMM, close.WholeShare, close.NickShare, close.ShareMedian, close.CutMM = 1.5, 0.008, 0.008, 0.14, 19
	day := time.Date(2026, 9, 17, 0, 0, 0, 0, time.UTC)
	return []load{
		{"gap-3.0", "1", wide, day.Add(9*time.Hour + 12*time.Minute), 73001, 34.1, 412},
		{"gap-1.5", "4", close, day.Add(11*time.Hour + 3*time.Minute), 73101, 34.6, 397},
	}
}

// view is one photo of a load.
type view struct {
	name            string
	kernels, pieces scene.Range
	trays           []string
	orientation     int
}

var views = []view{
	{"kernels-1", scene.Range{95, 110}, scene.Range{0, 0}, []string{"navy"}, 1},
	{"kernels-2", scene.Range{95, 110}, scene.Range{0, 0}, []string{"blue"}, 6},
	{"kernels-3", scene.Range{95, 110}, scene.Range{0, 0}, []string{"navy"}, 1},
	{"pieces-1", scene.Range{0, 0}, scene.Range{75, 90}, []string{"navy"}, 1},
	{"pieces-2", scene.Range{0, 0}, scene.Range{75, 90}, []string{"black"}, 3},
	{"mixed-1", scene.Range{60, 70}, scene.Range{40, 50}, []string{"navy"}, 8},
}

func drawLoad(out string, l load) error {
	var lot scene.Numbers
	for i, v := range views {
		s := scene.Default()
		s.Family, s.Lot, s.VaryLot = "sample-"+l.folder, l.lot, false
		s.Place.Kernels, s.Place.Pieces, s.Tray.Kinds = v.kernels, v.pieces, v.trays
		s.Place.TouchShare, s.Place.CrossShare = scene.Range{0.02, 0.1}, scene.Range{0, 0.04}
		s.Camera.HeightMM, s.Camera.TiltDeg = scene.Range{225, 290}, scene.Range{1, 9}
		s.Photo.Quality, s.Photo.Noise = scene.Range{84, 86}, scene.Range{0.5, 1}
		p := scene.Scene{Settings: s, Seed: l.seed + uint64(i)}.Draw()
		c := p.DefaultCapture()
		c.TakenAt, c.Offset, c.Orientation = l.taken.Add(time.Duration(i)*85*time.Second), "+02:00", v.orientation
		if err := save(filepath.Join(out, l.folder, v.name), p, c); err != nil {
			return err
		}
		if p.Truth.Lot.Pieces != nil {
			lot.Pieces = p.Truth.Lot.Pieces
		}
	}
	return write(filepath.Join(out, "boxes", l.folder+".csv"), box(lot.Pieces, l.boxGrams))
}

func save(name string, p *scene.Picture, c scene.Capture) error {
	photo, err := p.JPEG(c)
	if err != nil {
		return err
	}
	truth, err := json.Marshal(p.Truth)
	if err != nil {
		return fmt.Errorf("samples: writing truth: %w", err)
	}
	return errors.Join(write(name+".jpg", string(photo)), write(name+".truth.json", string(truth)+"\n"))
}

// box is what the sieve box would weigh: the lot's modelled shares of a shaken sample, to a tenth of a gram.
func box(n *scene.PieceNumbers, grams float64) string {
	var b strings.Builder
	b.WriteString("sieve,mass_g\n")
	for _, part := range [][2]string{{"19", "top"}, {"8", "middle"}, {"4", "lower"}, {"pan", "pan"}} {
		fmt.Fprintf(&b, "%s,%.1f\n", part[0], math.Round(n.BoxPct[part[1]]/100*grams*10)/10)
	}
	return b.String()
}

// drawBad writes photos and files that must be refused.
func drawBad(out string) error {
	var some []byte
	for _, name := range []string{"no-card", "blurred", "heaped"} {
		f, ok := scene.FamilyNamed(name)
		if !ok {
			return fmt.Errorf("samples: the family %s is gone", name)
		}
		s := f.Settings.Resized(1600)
		s.VaryLot, s.Photo.Quality = false, scene.Range{80, 84}
		p := scene.Scene{Settings: s, Seed: 73200}.Draw()
		c := p.DefaultCapture()
		c.TakenAt = time.Date(2026, 9, 17, 12, 30, 0, 0, time.UTC)
		if err := save(filepath.Join(out, name), p, c); err != nil {
			return err
		}
		var err error
		if some, err = p.JPEG(c); err != nil {
			return err
		}
	}
	return errors.Join(write(filepath.Join(out, "truncated.jpg"), string(some[:len(some)/5])),
		write(filepath.Join(out, "text.jpg"), "This file is called a photo and is none.\n"),
		write(filepath.Join(out, "empty.jpg"), ""))
}

// harvest is the table of the day's loads.
func harvest() string {
	var b strings.Builder
	b.WriteString("load,taken_at,farm,field,hybrid,dm_pct,tloc_mm,roll_gap_mm,photos,box\n")
	for _, l := range loads() {
		fmt.Fprintf(&b, "%s,%s+02:00,Varnebrook,Long Acre,yellow dent,%.1f,19,%.1f,%s,boxes/%s.csv\n", l.load, l.taken.Format("2006-01-02T15:04:05"), l.dmPct, l.lot.RollGapMM, l.folder, l.folder)
	}
	return b.String()
}

const readme = `# Samples

A morning's harvest at the invented farm Varnebrook, one machine, drawn by ` + "`internal/scene`" + ` (no photograph, no real farm).

- ` + "`gap-3.0/`" + `: load 1, rolls 3 mm apart. Three photos of kernels from the water test, two of loose stover, one of both.
- ` + "`gap-1.5/`" + `: load 4, after the rolls were closed to 1.5 mm. The same six views.
- each photo has its ` + "`.truth.json`" + `: every piece with its outline, sizes and class, and the lot that it was drawn from.
- ` + "`bad/`" + `: what must be refused: no card, blurred, heaped, a truncated file, a text file and an empty file.
- ` + "`harvest.csv`" + `: the loads. ` + "`boxes/`" + `: what the sieve box weighed, coarse to fine.

` + "`make samples`" + ` draws them anew: the same pixels everywhere, the same bytes on the Go version in go.mod.
`
