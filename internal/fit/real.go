package main

import (
	"log"
	"math"
	"os"
	"strings"

	"gristmark/internal/result"
	"gristmark/vision"
	"gristmark/vision/shape"
)

// realPhoto is a real photograph that may be fitted on: seeds and coins stand for whole kernels,
// whose light, lens and ground nobody rendered.
type realPhoto struct {
	file    string
	mmPerPx float64 // assumed, so that the things have about a kernel's size
	minMM2  float64 // smaller parts are stains
	maxMM2  float64 // larger ones are cards and frames
}

var realPhotos = []realPhoto{
	{"../shared/photos/ten-beans/beans_img.jpg", 0.045, 20, 400},
	{"../shared/photos/beans-on-letter/IMG_8897.jpg", 0.06, 20, 400},
	{"/usr/lib/python3/dist-packages/skimage/data/coins.png", 0.2, 20, 400},
}

// flat is a photo looked at from straight above, without height.
type flat float64

func (f flat) ToMM(p result.XY) result.XY                { return result.XY{p[0] * float64(f), p[1] * float64(f)} }
func (f flat) ToPx(p result.XY) result.XY                { return result.XY{p[0] / float64(f), p[1] / float64(f)} }
func (f flat) MMPerPxAt(result.XY) float64               { return float64(f) }
func (f flat) Foot() (result.XY, float64, float64, bool) { return result.XY{}, 0, 0, false }

// realExamples are the things of the real photographs, whole kernels, or broken ones where an edge cuts them, each at several assumed scales; a
// photograph that is not there is said and left out.
func realExamples(scene int) []example {
	var out []example
	for k, r := range realPhotos {
		data, err := os.ReadFile(r.file)
		if err != nil {
			log.Printf("left out: %v", err)
			continue
		}
		p, err := vision.Decode(data, 1)
		if err != nil {
			log.Printf("left out: %s: %v", r.file, err)
			continue
		}
		opt := vision.DefaultOptions()
		opt.KeepAll = true
		for _, f := range []float64{0.85, 1, 1.15} {
			a, err := vision.Analyse(p, flat(r.mmPerPx*f), opt)
			if err != nil {
				log.Print(err)
				continue
			}
			n := 0
			for i, q := range a.Particles {
				if area := q.AreaMM2 / f / f; area > r.minMM2 && area < r.maxMM2 && rounded(q) {
					e := example{scene: 4*(scene+k) + 1, x: a.Features[i], class: 0, kept: 1}
					if q.CutByEdge {
						e.class, e.kept = 1, 0.5
					}
					out = append(out, e)
					n++
				}
			}
			log.Printf("%s: %d found, %d taken", r.file[strings.LastIndex(r.file, "/")+1:], len(a.Particles), n)
		}
		p.Close()
	}
	return out
}

// rounded tells a seed or a coin from the square patches of a colour chart.
func rounded(q result.Particle) bool {
	r := shape.MinAreaRect(q.OutlinePx)
	return math.Abs(shape.Area(q.OutlinePx)) < 0.88*r.Length*r.Width && q.Solidity > 0.9
}
