package calib

import (
	"image"
	"image/color"
	"testing"

	"gocv.io/x/gocv"

	"gristmark/calib/card"
	"gristmark/internal/result"
)

// photo12 is a card in a photo of 12 megapixels, and its JPEG.
func photo12(b *testing.B) (gocv.Mat, []byte) {
	s := plain()
	s.blur, s.noise = 0, 2
	small := s.draw(b, sheetLayer(card.Card(), result.XY{}, 0))
	defer small.Close()
	m := gocv.NewMat()
	gocv.Resize(small, &m, image.Pt(4032, 3024), 0, 0, gocv.InterpolationCubic)
	jpeg, err := gocv.IMEncode(gocv.JPEGFileExt, m)
	if err != nil {
		b.Fatal(err)
	}
	defer jpeg.Close()
	return m, append([]byte(nil), jpeg.GetBytes()...)
}

func BenchmarkFindCard12MP(b *testing.B) {
	SetNumThreads(1)
	m, _ := photo12(b)
	defer m.Close()
	for b.Loop() {
		p, err := Find(m, Spec{Kind: Auto}, Lens{})
		if err != nil || p.Scale().MarksUsed < 9 {
			b.Fatal(p, err)
		}
	}
}

// BenchmarkDecode12MP is the yardstick: the same photo merely decoded.
func BenchmarkDecode12MP(b *testing.B) {
	SetNumThreads(1)
	m, jpeg := photo12(b)
	m.Close()
	for b.Loop() {
		d, err := gocv.IMDecode(jpeg, gocv.IMReadColor)
		if err != nil || d.Empty() {
			b.Fatal(err)
		}
		d.Close()
	}
}

// BenchmarkFindNothing12MP is a photo without a ruler, which takes every search.
func BenchmarkFindNothing12MP(b *testing.B) {
	SetNumThreads(1)
	s := plain()
	small := s.draw(b)
	defer small.Close()
	m := gocv.NewMat()
	defer m.Close()
	gocv.Resize(small, &m, image.Pt(4032, 3024), 0, 0, gocv.InterpolationCubic)
	for b.Loop() {
		if _, err := Find(m, Spec{Kind: Auto}, Lens{}); err == nil {
			b.Fatal("found")
		}
	}
}

// benchmarkDrawn times Find on a drawing seen in 12 megapixels.
func benchmarkDrawn(b *testing.B, spec Spec, s scene, l layer) {
	SetNumThreads(1)
	small := s.draw(b, l)
	defer small.Close()
	m := gocv.NewMat()
	defer m.Close()
	gocv.Resize(small, &m, image.Pt(4032, 3024), 0, 0, gocv.InterpolationCubic)
	for b.Loop() {
		if _, err := Find(m, spec, Lens{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFindGrid12MP(b *testing.B) {
	s := plain()
	s.heightMM, s.aim = 240, result.XY{150, 110}
	l := gridded(300, 220, 10, 0.5, 5, color.NRGBA{30, 80, 60, 255}, color.NRGBA{190, 200, 180, 255})
	benchmarkDrawn(b, Spec{Kind: Grid, PitchMM: 10}, s, l)
}

func BenchmarkFindFrame12MP(b *testing.B) {
	s := plain()
	s.heightMM, s.aim = 430, result.XY{95, 127}
	l := framed(190, 254, 0.8, color.NRGBA{235, 235, 230, 255}, color.NRGBA{30, 40, 90, 255})
	benchmarkDrawn(b, Spec{Kind: Frame, WidthMM: 190, HeightMM: 254}, s, l)
}

func BenchmarkFindRule12MP(b *testing.B) {
	s := plain()
	s.heightMM, s.aim = 165, result.XY{100, 40}
	l := ruled(300, 1, 10, color.NRGBA{190, 190, 195, 255}, color.NRGBA{20, 20, 20, 255})
	benchmarkDrawn(b, Spec{Kind: Rule, PitchMM: 1}, s, l)
}
