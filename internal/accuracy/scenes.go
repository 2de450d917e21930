package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"image"
	_ "image/jpeg" // scenes are JPEG files
	"os"
	"path/filepath"
	"slices"

	"gristmark/internal/accuracy/score"
	"gristmark/internal/result"
	"gristmark/internal/scene"
)

// seeds are the first n of a family's part: what is tuned on is never reported.
var seeds = map[string]func(f scene.Family, n int) []uint64{
	"tuning":    scene.Family.TuningSeeds,
	"reporting": scene.Family.ReportingSeeds,
}

// rendered is a scene in the cache.
type rendered struct {
	Family string
	Name   string
	Photo  string // file
	Truth  score.Truth
	Show   string // what --show is told
}

// prepare renders the scenes that the cache lacks and reads the truth of all.
func prepare(opt options) ([]rendered, error) {
	version, err := rendererVersion()
	if err != nil {
		return nil, err
	}
	for _, name := range opt.Families {
		if _, known := scene.FamilyNamed(name); !known {
			return nil, fmt.Errorf("accuracy: no family is named %q", name)
		}
	}
	var jobs []job
	for _, f := range scene.Families() {
		if len(opt.Families) > 0 && !slices.Contains(opt.Families, f.Name) {
			continue
		}
		for _, seed := range seeds[opt.Seeds](f, opt.Scenes) {
			jobs = append(jobs, job{f, seed})
		}
	}
	scenes := make([]rendered, len(jobs))
	err = each(len(jobs), opt.Workers, func(i int) error {
		var err error
		scenes[i], err = jobs[i].inCache(opt.Cache, version)
		return err
	})
	return scenes, err
}

// job is a scene to have in the cache.
type job struct {
	scene.Family
	Seed uint64
}

// inCache renders the scene unless its files are there, and reads its truth.
func (j job) inCache(folder, version string) (rendered, error) {
	settings, err := json.Marshal(j.Settings)
	if err != nil {
		return rendered{}, err
	}
	key := sha256.Sum256(append([]byte(version), settings...))
	name := fmt.Sprintf("%s-%d", j.Name, j.Seed)
	base := filepath.Join(folder, hex.EncodeToString(key[:6]), name)
	photo, truth := base+".jpg", base+".truth.json"
	if _, err := os.Stat(truth); err != nil {
		if err := j.write(photo, truth); err != nil {
			return rendered{}, fmt.Errorf("accuracy: scene %s: %w", name, err)
		}
	}
	return read(j.Name, name, photo, truth)
}

// write renders the scene; the truth file comes last and stands for both.
func (j job) write(photo, truth string) error {
	if err := os.MkdirAll(filepath.Dir(photo), 0o755); err != nil {
		return err
	}
	picture := scene.Scene{Settings: j.Settings, Seed: j.Seed}.Draw()
	jpeg, err := picture.JPEG(picture.DefaultCapture())
	if err != nil {
		return err
	}
	told, err := json.Marshal(picture.Truth)
	if err != nil {
		return err
	}
	if err := os.WriteFile(photo, jpeg, 0o644); err != nil {
		return err
	}
	return os.WriteFile(truth, told, 0o644)
}

func read(family, name, photo, truth string) (rendered, error) {
	told, err := os.ReadFile(truth)
	if err != nil {
		return rendered{}, err
	}
	picture, err := os.ReadFile(photo)
	if err != nil {
		return rendered{}, err
	}
	size, _, err := image.DecodeConfig(bytes.NewReader(picture))
	if err != nil {
		return rendered{}, err
	}
	t, err := score.ReadTruth(name, told, size.Width, size.Height)
	return rendered{Family: family, Name: name, Photo: photo, Truth: t, Show: show(t)}, err
}

// show is what a person would tell --show: what lies on the tray.
func show(t score.Truth) string {
	kernels, stover := false, false
	for _, g := range t.Things {
		kernels = kernels || g.Class.IsKernel()
		stover = stover || g.Class == result.Stover
	}
	switch {
	case kernels && !stover:
		return "kernels"
	case stover && !kernels:
		return "pieces"
	}
	return "mixed"
}

// rendererVersion changes with the code that renders.
func rendererVersion() (string, error) {
	sum := sha256.New()
	for _, pattern := range []string{"internal/scene/*.go", "calib/card/*.go"} {
		files, err := filepath.Glob(pattern)
		if err != nil {
			return "", err
		}
		for _, file := range files {
			data, err := os.ReadFile(file)
			if err != nil {
				return "", err
			}
			fmt.Fprintf(sum, "%s %d\n", file, len(data))
			sum.Write(data)
		}
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}
