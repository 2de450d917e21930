package vision

import (
	"math"
	"testing"

	"gristmark/internal/result"
)

// What is seen across an edge goes by the photo's pixels: it is the same however much the work image is reduced.
func TestAcrossGoesByThePhoto(t *testing.T) {
	const side, edge = 60, 30.3
	pix := make([]uint8, 3*side*side)
	for i := range side * side {
		v := 40 + 180/(1+math.Exp((float64(i%side)+0.5-edge)/0.6)) // a bright piece on the left
		pix[3*i], pix[3*i+1], pix[3*i+2] = uint8(0.3*v+0.5), uint8(0.8*v+0.5), uint8(v+0.5)
	}
	features := func(reduced float64) []float64 {
		w := int(side / reduced)
		contrast := make([]uint8, w*w)
		for i := range contrast {
			contrast[i] = uint8(200 / (1 + math.Exp(((float64(i%w)+0.5)*reduced-edge)/0.6)))
		}
		n := netMap{w: 1, h: 1, perPx: 1, piece: make([]float32, 1), kernel: make([]float32, 1)}
		e := edgeFinder{pix: pix, w: side, h: side, contrast: contrast, cw: w, ch: w, sx: reduced, sy: reduced, last: lastLook{net: &n}}
		return e.across(nil, result.XY{edge / reduced, 25 / reduced}, result.XY{1, 0}, 0.25/reduced, 0)
	}
	want := features(1)
	for _, reduced := range []float64{1.1, 1.2} {
		for k, v := range features(reduced) {
			// the contrast is read from whole pixels of the work image, and so are the ends that the step is between
			if name := edgeNames[k]; name[:4] != "cont" && math.Abs(v-want[k]) > 0.02 {
				t.Errorf("reduced by %g: %s is %.3f, want %.3f", reduced, name, v, want[k])
			}
		}
	}
}
