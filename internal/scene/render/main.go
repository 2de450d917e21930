// Command render draws tray photos with truth files.
//
//	go run ./internal/scene/render --family mixed --count 3 --out /tmp/scenes
package main

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"image"
	"image/png"
	"os"
	"path/filepath"

	"gristmark/internal/scene"
)

type options struct {
	family, settings, out, seeds      string
	all, list, masks, wild, odd, bare bool
	seed                              uint64
	count, width                      int
}

func main() {
	var o options
	flag.StringVar(&o.family, "family", "", "name of a family; --list names them")
	flag.BoolVar(&o.all, "all", false, "every family")
	flag.BoolVar(&o.wild, "wild", false, "in place of a family: scenes in which everything varies at once; --seed numbers them from 0")
	flag.BoolVar(&o.odd, "odd", false, "as --wild, on grounds and of crops beyond those")
	flag.BoolVar(&o.bare, "bare", false, "leave out the numbers of the lot: half of the time")
	flag.BoolVar(&o.list, "list", false, "list the families")
	flag.StringVar(&o.settings, "settings", "", "JSON file of settings in place of a family")
	flag.StringVar(&o.out, "out", "", "folder to write to")
	flag.StringVar(&o.seeds, "seeds", "tuning", "tuning or reporting: which range, when no --seed is given")
	flag.Uint64Var(&o.seed, "seed", 0, "first seed; 0 takes the family's own")
	flag.IntVar(&o.count, "count", 1, "photos of each family")
	flag.IntVar(&o.width, "width", 0, "width in px, height in proportion; 0 keeps the family's")
	flag.BoolVar(&o.masks, "masks", false, "write NAME.labels.png (16 bit, id of the thing) and NAME.classes.png (0 ground, 1 whole kernel, 2 broken kernel, 3 stover)")
	flag.Parse()
	if err := run(o); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(o options) error {
	if o.list {
		for _, f := range scene.Families() {
			fmt.Printf("%-22s usable=%-5v %s\n", f.Name, f.Settings.Usable, f.About)
		}
		return nil
	}
	if o.out == "" {
		return errors.New("render: --out is missing: name a folder to write to")
	}
	scenes, err := scenesOf(o)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(o.out, 0o755); err != nil {
		return fmt.Errorf("render: making the folder: %w", err)
	}
	for _, sc := range scenes {
		if err := draw(o, sc); err != nil {
			return err
		}
	}
	return nil
}

// scenesOf lists what is to be drawn, before its width.
func scenesOf(o options) (out []scene.Scene, err error) {
	if o.wild || o.odd {
		draw := scene.Wild
		if o.odd {
			draw = scene.Odd
		}
		for i := range uint64(o.count) {
			out = append(out, draw(o.seed+i))
		}
		return out, nil
	}
	families, err := chosen(o)
	for _, f := range families {
		for _, seed := range seedsOf(o, f) {
			out = append(out, scene.Scene{Settings: f.Settings, Seed: seed})
		}
	}
	return out, err
}

func chosen(o options) ([]scene.Family, error) {
	switch {
	case o.all:
		return scene.Families(), nil
	case o.settings != "":
		data, err := os.ReadFile(o.settings)
		if err != nil {
			return nil, fmt.Errorf("render: reading settings: %w", err)
		}
		s := scene.Default()
		if err := json.Unmarshal(data, &s); err != nil {
			return nil, fmt.Errorf("render: settings in %s: %w", o.settings, err)
		}
		return []scene.Family{{Name: s.Family, Settings: s}}, nil
	}
	f, ok := scene.FamilyNamed(o.family)
	if !ok {
		return nil, fmt.Errorf("render: no family is called %q: --list names them", o.family)
	}
	return []scene.Family{f}, nil
}

func seedsOf(o options, f scene.Family) []uint64 {
	if o.seed == 0 {
		if o.seeds == "reporting" {
			return f.ReportingSeeds(o.count)
		}
		return f.TuningSeeds(o.count)
	}
	var out []uint64
	for i := 0; i < o.count; i++ {
		out = append(out, o.seed+uint64(i))
	}
	return out
}

func draw(o options, sc scene.Scene) error {
	sc.Bare = o.bare
	if o.width > 0 {
		sc.Settings = sc.Settings.Resized(o.width)
	}
	p := sc.Draw()
	photo, err := p.JPEG(p.DefaultCapture())
	if err != nil {
		return err
	}
	truth, err := json.Marshal(p.Truth)
	if err != nil {
		return fmt.Errorf("render: writing truth: %w", err)
	}
	name := filepath.Join(o.out, fmt.Sprintf("%s-%d", sc.Settings.Family, sc.Seed))
	if err := errors.Join(os.WriteFile(name+".jpg", photo, 0o644), os.WriteFile(name+".truth.json", append(truth, '\n'), 0o644)); err != nil {
		return fmt.Errorf("render: %w", err)
	}
	if o.masks {
		return masks(p, name)
	}
	return nil
}

func masks(p *scene.Picture, name string) error {
	labels, classes := p.Masks()
	return errors.Join(writePNG(name+".labels.png", labels), writePNG(name+".classes.png", classes))
}

func writePNG(path string, img image.Image) error {
	f, err := os.Create(path)
	if err != nil {
		return fmt.Errorf("render: %w", err)
	}
	return errors.Join(png.Encode(f, img), f.Close())
}
