package calib

import (
	"errors"
	"math"

	"gocv.io/x/gocv"
)

// picture is the photo's bytes, three a pixel (blue, green, red). It borrows them from a Mat.
type picture struct {
	pix                 []uint8
	width, height, step int
}

// ErrPhoto says that the picture handed over is not one that can be looked at.
var ErrPhoto = errors.New("calib: need an 8 bit BGR photo of at least 64 x 64 px")

func newPicture(m gocv.Mat) (picture, error) {
	if m.Empty() || m.Type() != gocv.MatTypeCV8UC3 || !m.IsContinuous() || m.Cols() < 64 || m.Rows() < 64 {
		return picture{}, ErrPhoto
	}
	pix, err := m.DataPtrUint8()
	if err != nil {
		return picture{}, ErrPhoto
	}
	return picture{pix, m.Cols(), m.Rows(), m.Step()}, nil
}

// light is the sRGB transfer curve (IEC 61966-2-1): where light mixes, at blurred edges, it mixes
// in this scale.
var light = func() (t [256]float32) {
	for i := range t {
		v := float64(i) / 255
		if v <= 0.04045 {
			t[i] = float32(v / 12.92)
		} else {
			t[i] = float32(math.Pow((v+0.055)/1.055, 2.4))
		}
	}
	return t
}()

// at is the light of the green channel at a position, interpolated, 0..1; outside the photo it is
// negative.
func (p *picture) at(x, y float64) float32 {
	x, y = x-0.5, y-0.5
	if !(x >= 0 && y >= 0 && x < float64(p.width-1) && y < float64(p.height-1)) {
		return -1
	}
	return p.between(x, y)
}
