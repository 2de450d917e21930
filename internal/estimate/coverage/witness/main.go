// Command witness holds package estimate against truth files of rendered scenes, given the true outlines and classes: what is
// left is the error of the thickness, passage and box models, which the renderer decides in space and by its own rules.
//
//	go run ./internal/estimate/coverage/witness DIR
package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"

	"gristmark/internal/estimate"
	"gristmark/internal/kernel"
	"gristmark/internal/result"
	"gristmark/internal/stats"
)

// truth is what is read of NAME.truth.json.
type truth struct {
	Things     []thing `json:"things"`
	Scene, Lot numbers
	Kernel     struct {
		AreaMM2 float64 `json:"area_mm2"`
	} `json:"kernel"`
}

type thing struct {
	Class       result.Class `json:"class"`
	LengthMM    float64      `json:"length_mm"`
	WidthMM     float64      `json:"width_mm"`
	AreaMM2     float64      `json:"area_mm2"`
	ThicknessMM float64      `json:"thickness_mm"`
	MassMG      float64      `json:"mass_mg"`
	Passes475   bool         `json:"passes_4_75"`
	CutByEdge   bool         `json:"cut_by_edge"`
}

type numbers struct {
	Kernels *struct {
		WholePct   float64 `json:"whole_pct"`
		Passing475 float64 `json:"passing_4_75_pct"`
	} `json:"kernels"`
	Pieces *struct {
		GeometricMeanMM float64            `json:"geometric_mean_mm"`
		BoxPct          map[string]float64 `json:"box_pct"`
	} `json:"pieces"`
}

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "witness: name one folder of truth files")
		os.Exit(2)
	}
	files, _ := filepath.Glob(filepath.Join(os.Args[1], "*.truth.json"))
	w := witness{}
	for _, f := range files {
		if err := w.read(f); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
	w.print()
}

type witness struct {
	scene, lot map[string][]float64 // errors of a figure against the scene and the lot, in its unit
	held       map[string]int
	pieces     []thing
	areas      []float64
}

func (w *witness) read(file string) error {
	data, err := os.ReadFile(file)
	if err != nil {
		return fmt.Errorf("witness: %w", err)
	}
	var t truth
	if err := json.Unmarshal(data, &t); err != nil {
		return fmt.Errorf("witness: %s: %w", file, err)
	}
	p := result.Photo{File: file, Status: result.Measured, Scale: &result.Scale{MMPerPx: 0.06, RelativeSD: 0.003}}
	for _, g := range t.Things {
		if g.CutByEdge {
			continue // the truth's scene leaves them out too; against the lot only scenes that the frame does not cut are fair
		}
		p.Particles = append(p.Particles, result.Particle{Class: g.Class, LengthMM: g.LengthMM, WidthMM: g.WidthMM, AreaMM2: g.AreaMM2})
		if g.Class != result.Stover {
			w.pieces = append(w.pieces, g)
		}
	}
	s := estimate.Sample([]result.Photo{p}, estimate.Options{})
	if t.Scene.Kernels != nil && t.Lot.Kernels != nil {
		w.add("passing", s.Kernels.Passing475Pct, t.Scene.Kernels.Passing475, t.Lot.Kernels.Passing475)
		w.add("whole", s.Kernels.WholePct, t.Scene.Kernels.WholePct, t.Lot.Kernels.WholePct)
		w.areas = append(w.areas, s.Kernels.UnbrokenAreaMM2/t.Kernel.AreaMM2)
	}
	if b := s.Pieces.BoxPct; b != nil && t.Scene.Pieces != nil && t.Lot.Pieces != nil {
		w.add("length", s.Pieces.GeometricMeanMM, t.Scene.Pieces.GeometricMeanMM, t.Lot.Pieces.GeometricMeanMM)
		for name, e := range map[string]*result.Estimate{"top": &b.Top, "middle": &b.Middle, "lower": &b.Lower, "pan": &b.Pan} {
			w.add("box "+name, e, t.Scene.Pieces.BoxPct[name], t.Lot.Pieces.BoxPct[name])
		}
	}
	return nil
}

func (w *witness) add(name string, e *result.Estimate, scene, lot float64) {
	if e == nil {
		return
	}
	if w.scene == nil {
		w.scene, w.lot, w.held = map[string][]float64{}, map[string][]float64{}, map[string]int{}
	}
	w.scene[name] = append(w.scene[name], e.Value-scene)
	w.lot[name] = append(w.lot[name], e.Value-lot)
	if e.Low <= lot && lot <= e.High {
		w.held[name]++
	}
}

func (w *witness) print() {
	fmt.Println("figure        n   bias to scene    s.d.   bias to lot    s.d.   interval holds lot")
	for _, name := range []string{"passing", "whole", "length", "box top", "box middle", "box lower", "box pan"} {
		if n := len(w.scene[name]); n > 0 {
			a, as := stats.MeanSD(w.scene[name])
			b, bs := stats.MeanSD(w.lot[name])
			fmt.Printf("%-10s %4d  %14.2f  %6.2f  %12.2f  %6.2f  %6.1f %%\n", name, n, a, as, b, bs, 100*float64(w.held[name])/float64(n))
		}
	}
	if m, sd := stats.MeanSD(w.areas); len(w.areas) > 0 {
		fmt.Printf("unbroken area over the lot's: %.3f, s.d. %.3f\n", m, sd)
	}
	w.printPieces()
}

// printPieces holds thickness, mass and passage of single kernel pieces against the renderer's.
func (w *witness) printPieces() {
	if len(w.pieces) == 0 {
		return
	}
	m := kernel.NewModel(kernel.Default())
	fmt.Println("width_mm      n  t_mm  model  mass/model  passes_pct  model")
	for low := 1.0; low < 9; low += 0.5 {
		var n, t, mt, pass, say, mass, guess float64
		for _, g := range w.pieces {
			if g.WidthMM < low || g.WidthMM >= low+0.5 || g.Class == result.WholeKernel {
				continue
			}
			thick, _ := m.ThicknessOf(g.WidthMM, false)
			n, t, mt, mass, guess = n+1, t+g.ThicknessMM, mt+thick, mass+g.MassMG, guess+m.MassMG(g.WidthMM, g.AreaMM2, false)
			say += m.PassProbability(g.WidthMM, false)
			if g.Passes475 {
				pass++
			}
		}
		if n > 0 {
			fmt.Printf("%3.1f-%3.1f  %5.0f  %4.2f  %5.2f  %10.2f  %10.1f  %5.1f\n", low, low+0.5, n, t/n, mt/n, mass/guess, 100*pass/n, 100*math.Min(say/n, 1))
		}
	}
}
