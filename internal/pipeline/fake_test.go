package pipeline

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync/atomic"
	"testing"

	"gristmark/internal/intake"
	"gristmark/internal/result"
)

// fake are stages without a camera: a photo's particles follow from its hash, a sample's numbers from its particles.
// measured counts the photos that went through.
func fake(measured *atomic.Int64) Stages {
	return Stages{
		Version: "test",
		Measure: func(in *intake.Intake, opt Options) (*Frame, error) {
			measured.Add(1)
			f := &Frame{Grid: [][]result.XY{{{1, 2}, {3, 4}}}, GridMM: 10, Marks: []Mark{{[]result.XY{{5, 6}}, true}}}
			f.Photo.Status = result.Measured
			f.Photo.Scale = &result.Scale{From: "card", MMPerPx: 0.05}
			seed := uint64(in.Bytes[len(in.Bytes)-20])<<8 + uint64(in.WidthPx)
			for _, s := range spread(seed, 30, 200, 150) {
				x, y := s.at[0], s.at[1]
				f.Photo.Particles = append(f.Photo.Particles, result.Particle{
					Class: result.Stover, Probability: 1, PStover: 1, AtPx: result.XY{x, y}, LengthMM: 2, WidthMM: 2, AreaMM2: s.area, Weight: 1,
					OutlineMM: []result.XY{{x - 1, y - 1}, {x + 1, y - 1}, {x + 1, y + 1}, {x - 1, y + 1}},
				})
			}
			if opt.Picture {
				f.Picture = []byte("picture of " + in.SHA256)
			}
			return f, nil
		},
		Estimate: func(photos []result.Photo, _ Options) result.Sample {
			n, area := 0, 0.0
			for _, p := range photos {
				if p.Status == result.Measured && p.DuplicateOf == "" {
					for _, q := range p.Particles {
						n++
						area += q.AreaMM2 * float64(len(q.OutlineMM))
					}
				}
			}
			return result.Sample{Pieces: &result.Pieces{N: n, GeometricMeanMM: &result.Estimate{Value: area, Low: area, High: area, Level: 0.95}}}
		},
	}
}

// photoFile writes a PNG of noise that no other seed gives.
func photoFile(t *testing.T, path string, seed uint64) {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 9))
	img := image.NewGray(image.Rect(0, 0, 70+int(seed), 64))
	for i := range img.Pix {
		img.Pix[i] = uint8(rng.Uint32())
	}
	img.SetGray(0, 0, color.Gray{uint8(seed)})
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	writeFile(t, path, b.Bytes())
}

func writeFile(t *testing.T, path string, data []byte) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
}

// season is a folder of four samples, one of them directly in it, with a photo at fault and a duplicate.
func season(t *testing.T) string {
	dir := t.TempDir()
	for i, name := range []string{"a/1.png", "a/2.png", "b/1.png", "b/c/1.png", "top.png"} {
		photoFile(t, filepath.Join(dir, name), uint64(i))
	}
	photoFile(t, filepath.Join(dir, "a/again.png"), 0)
	writeFile(t, filepath.Join(dir, "b/bad.jpg"), []byte("no photo"))
	writeFile(t, filepath.Join(dir, "b/notes.txt"), []byte("no photo"))
	writeFile(t, filepath.Join(dir, ".hidden/1.png"), []byte("no photo"))
	writeFile(t, filepath.Join(dir, "a/._1.png"), []byte("no photo"))
	return dir
}

func names(list []Batch) string {
	var out []string
	for _, b := range list {
		out = append(out, fmt.Sprintf("%s:%d", b.Name, len(b.Photos)))
	}
	return fmt.Sprint(out)
}
