package calib

import (
	"image"
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
