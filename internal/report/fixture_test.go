package report

import (
	"image"
	"image/color"
	"math"

	"gristmark/internal/result"
)

func ptr[T any](v T) *T { return &v }

func est(v, low, high float64) *result.Estimate {
	return &result.Estimate{Value: v, Low: low, High: high, Level: 0.95}
}

// document is a sample of three photos: one measured, one refused, one pooled.
func document() result.Document {
	particles := []result.Particle{
		{ID: 1, Class: result.WholeKernel, OutlinePx: circle(150, 150, 60)},
		{ID: 2, Class: result.BrokenKernel, OutlinePx: circle(400, 150, 40)},
		{ID: 3, Class: result.Stover, OutlinePx: []result.XY{{550, 100}, {850, 120}, {850, 170}, {550, 150}}},
		{ID: 4, Class: result.Unsure, OutlinePx: circle(150, 420, 40)},
		{ID: 5, Class: result.Stover, CutByEdge: true, OutlinePx: []result.XY{{900, 400}, {1000, 400}, {1000, 460}, {900, 460}}},
	}
	return result.Document{
		Schema: result.Schema,
		Photos: []result.Photo{
			{File: "a.jpg", WidthPx: 1000, HeightPx: 600, Status: result.Measured, Particles: particles,
				Scale:  &result.Scale{From: "card", MMPerPx: 0.05, RelativeSD: 0.004, TiltDeg: 8.1},
				Field:  []result.XY{{20, 20}, {980, 20}, {980, 580}, {20, 580}},
				Checks: []result.Check{{Name: "sharpness", OK: true, Value: 0.6, Limit: 0.3, Unit: "1"}, {Name: "glare", Value: 0.41, Limit: 0.25, Unit: "share of piece area", Advice: "turn the tray out of the sun"}}},
			{File: "b.jpg", Status: result.Refused, Problem: ptr("no ruler found: put the card beside the pieces"), Particles: []result.Particle{}, SHA256: "bb"},
			{File: "c, \"third\".jpg", Status: result.Measured, SameSpreadAs: "a.jpg", Particles: particles[:1], Scale: &result.Scale{From: "given", MMPerPx: 0.05}},
		},
		Sample: &result.Sample{
			Kernels: &result.Kernels{Whole: 12, Broken: 80, WholePct: est(13, 8.1, 20.2), Passing475Pct: est(63, 57, 69), SmallestMM: 0.9, UnbrokenAreaMM2: 62.7, UnbrokenFrom: "default"},
			Pieces: &result.Pieces{N: 140, GeometricMeanMM: est(10.2, 9.6, 10.9), GeometricSD: ptr(1.9),
				LengthClassesPct: &result.LengthClasses{Over19: 7, From8: 55, From4: 27, Under4: 11},
				BoxPct:           &result.BoxShares{Top: *est(6, 3, 10), Middle: *est(57, 49, 64), Lower: *est(27, 21, 33), Pan: *est(10, 7, 15)}},
			Verdict: result.Verdict{Kernels: ptr(result.ShortOfTarget), Pieces: ptr(result.OnTarget), Targets: "maize-silage/conventional"},
			Advice:  []result.Advice{{Do: "Close the roll gap from 3 to 2.5 mm.", Why: "63 % passes, the mark is 70 %.", Check: "Photograph again after two loads.", Caution: "Stop the machine first."}},
			Notes:   []string{"one spread only"},
		},
		Assumed: []string{"the chop is taken to be fresh"},
	}
}

func circle(x, y, r float64) []result.XY {
	var out []result.XY
	for i := range 60 {
		a := 2 * math.Pi * float64(i) / 60
		out = append(out, result.XY{x + r*math.Cos(a), y + r*math.Sin(a)})
	}
	return out
}

func plainPicture(w, h int) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for i := range w * h {
		img.Set(i%w, i/w, color.NRGBA{0x10, 0x20, 0x50, 255})
	}
	return img
}
