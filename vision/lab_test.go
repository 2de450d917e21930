package vision

import (
	"testing"

	"gocv.io/x/gocv"
)

// Each of the 16.7 million colours becomes what OpenCV makes of it.
func TestLabIsThatOfOpenCV(t *testing.T) {
	const side = 1 << 12
	all := labImage{side, side, make([]uint8, 3*side*side)}
	for i := range side * side {
		all.pix[3*i], all.pix[3*i+1], all.pix[3*i+2] = uint8(i), uint8(i>>8), uint8(i>>16)
	}
	src, err := gocv.NewMatFromBytes(side, side, gocv.MatTypeCV8UC3, all.pix)
	if err != nil {
		t.Fatal(err)
	}
	defer src.Close()
	dst := gocv.NewMat()
	defer dst.Close()
	gocv.CvtColor(src, &dst, gocv.ColorBGRToLab)
	want, err := dst.DataPtrUint8()
	if err != nil {
		t.Fatal(err)
	}
	got := labImage{side, side, make([]uint8, 3*side*side)}
	all.toLab(&got)
	off := 0
	for i, v := range got.pix {
		if v != want[i] {
			if off++; off < 5 {
				c := i / 3 * 3
				t.Errorf("colour %v: channel %d is %d, OpenCV has %d", all.pix[c:c+3], i-c, v, want[i])
			}
		}
	}
	if off > 0 {
		t.Errorf("%d of %d numbers differ", off, len(want))
	}
}
